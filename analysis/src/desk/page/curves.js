// The figures: those in view are put in at once, the rest one by one behind them, so that a moving hand waits for few.
import { make } from './ask.js';

/** What each figure shows by its id, as HTML, and those of another run that are not put in yet. */
const shown = new Map();
const later = new Map();
const place = document.getElementById('figures');
let clock = 0;

/** Which runs the figures are of: known once all of them have come. */
export function drawn() {
  return place.dataset.drawn;
}

/** Ids of the figures that are in view. */
export function inView() {
  return [...place.children].filter(isInView).map((figure) => figure.id);
}

function isInView(figure) {
  const { top, bottom } = figure.getBoundingClientRect();
  return bottom > 0 && top < window.innerHeight;
}

/** Puts some figures in the place of what they were. */
export function renew(list) {
  list.forEach(({ id }) => later.delete(id));
  replace(list.filter(({ id, html }) => shown.has(id) && shown.get(id) !== html));
}

/** Puts all figures in. */
export function put(list, of) {
  place.dataset.drawn = of;
  const ids = new Set(list.map((one) => one.id));
  for (const old of [...place.children]) {
    if (ids.has(old.id)) continue;
    old.remove();
    shown.delete(old.id);
  }
  clearTimeout(clock);
  later.clear();
  const now = [];
  list.forEach((one, n) => {
    const figure = document.getElementById(one.id) ?? make('figure', { id: one.id });
    if (place.children[n] !== figure) place.insertBefore(figure, place.children[n] ?? null);
    if (shown.get(one.id) === one.html) return;
    if (!shown.has(one.id) || isInView(figure)) now.push(one);
    else later.set(one.id, one);
  });
  replace(now);
  if (later.size > 0) clock = setTimeout(next);
}

function next() {
  const [one] = later.values();
  if (!one) return;
  later.delete(one.id);
  replace([one]);
  clock = setTimeout(next);
}

function replace(list) {
  const made = list.map(({ id, html }) => {
    const old = document.getElementById(id);
    const figure = document.createRange().createContextualFragment(html).firstElementChild;
    // Numbers that were opened stay open, and the keyboard stays where it was.
    if (old.querySelector('details[open]')) figure.querySelector('details')?.setAttribute('open', '');
    const held = old.contains(document.activeElement) && document.activeElement.localName;
    old.replaceWith(figure);
    shown.set(id, html);
    return { figure, held };
  });
  if (made.length === 0) return;
  window.breathroomFigures?.attach(...made.map((one) => one.figure));
  for (const { figure, held } of made) if (held) figure.querySelector(held)?.focus({ preventScroll: true });
}
