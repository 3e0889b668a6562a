// What comes of it: figures, margins, how far the variations are.
import { make, say } from './ask.js';
import * as curves from './curves.js';

/** Of which runs curves were put in last, and how long after the change that asked for them, ms. */
let last = {};
/** Of which runs results were shown last. */
let known;

/** Shows results, of a change at a time `since` if there was one; true if they have its curves. */
export function show(results, since) {
  const figures = document.getElementById('figures');
  // Nothing where the page has the figures of these runs already.
  if (results.in_view) curves.renew(results.figures);
  else if (results.figures !== null) curves.put(results.figures, results.drawn);
  const come = since !== undefined && known !== results.drawn;
  known = results.drawn;
  if (come) last = { drawn: results.drawn, after: Math.round(performance.now() - since) };
  const two = results.variants.length > 1;
  const old = results.variants.some((variant) => variant.ran && variant.stays);
  figures.classList.toggle('old', old);
  const lines = results.variants.map((variant) => {
    const of = two ? variant.name + ': ' : '';
    const took = variant.ran ? `run on the medians in ${variant.milliseconds} ms` : '';
    const end = variant.end ? `; it ${variant.end}` : '';
    if (variant.stays && variant.ran) return make('p', { class: 'stays' }, `\u26a0 ${of}old curves, since ${variant.stays}`);
    if (variant.stays) return make('p', { class: 'stays' }, `\u26a0 ${of}no curves: ${variant.stays}`);
    if (!variant.ran) return make('p', {}, `${of}running`);
    const failure = variant.study?.failure ? `; variations could not be run: ${variant.study.failure}` : '';
    const survived = variant.study?.not_survived ? `; not survived in ${variant.study.not_survived} of the variations` : '';
    return make('p', { class: end || failure || survived ? 'stays' : '' }, (end || failure || survived ? '\u26a0 ' : '') + of + took + end + survived + failure);
  });
  if (last.drawn === results.drawn) lines.push(make('p', { class: 'small' }, `curves in view ${last.after} ms after the change`));
  const place = document.getElementById('state');
  const text = lines.map((line) => line.textContent).join('\n');
  if (place.dataset.text !== text) {
    place.dataset.text = text;
    place.replaceChildren(...lines);
  }
  renew(document.getElementById('margins'), table(results, two));
  if (results.caution) say(document.getElementById('caution'), results.caution);
  return come;
}

/** Puts a table in place of another; of one with the same cells only those that say something else. */
function renew(place, made) {
  const [old, cells] = [[...place.querySelectorAll('th, td')], [...made.querySelectorAll('th, td')]];
  const alike = (one, n) => one.localName === cells[n].localName && one.rowSpan === cells[n].rowSpan;
  if (old.length !== cells.length || !old.every(alike)) {
    place.replaceChildren(made);
    return;
  }
  old.forEach((one, n) => {
    if (one.outerHTML !== cells[n].outerHTML) one.replaceWith(cells[n]);
  });
}

function table(results, two) {
  const heads = ['Limit', ...(two ? ['Of'] : []), 'Margin', 'Beyond', 'Margin: 5, 50, 95 %', ...(two ? ['B less A'] : [])];
  const body = results.margins.flatMap((row) => row.cells.map((cell, n) => make('tr', { class: n > 0 ? 'second' : '' },
    n === 0 ? make('th', { scope: 'rowgroup', rowspan: row.cells.length }, row.words, make('span', { class: 'small' }, row.where)) : null,
    two ? make('td', { class: 'variant' }, results.variants[n].name) : null,
    ...cells(cell, results.variants[n]),
    two && n === 0 ? make('td', { rowspan: row.cells.length }, row.difference ?? '') : null)));
  return make('table', {},
    make('thead', {}, make('tr', {}, ...heads.map((head) => make('th', { scope: 'col' }, head)))),
    make('tbody', {}, ...body));
}

function cells(cell, variant) {
  if (!cell) return [make('td', {}, 'no such limit'), make('td'), make('td')];
  const old = variant.stays ? ' old' : '';
  const mark = cell.margin === null ? '' : cell.met ? '\u2713 ' : '\u2717 ';
  const word = cell.margin === null ? 'never applied' : cell.margin + (cell.met ? '' : ', beyond');
  const about = cell.worst ? `worst ${cell.worst}` + (cell.at ? ` after ${cell.at}` : '') : '';
  const margin = make('td', { class: (cell.met ? 'met' : 'beyond') + old }, mark + word, make('span', { class: 'small' }, about));
  const study = cell.study;
  if (!study) return [margin, make('td', { class: 'small' }, '\u2013'), make('td', { class: 'small' }, '\u2013')];
  const stale = study.fresh ? '' : ' old';
  const three = [study.low, study.middle, study.high].map((one) => one ?? '\u2013').join(', ');
  return [
    margin,
    make('td', { class: (study.any ? 'beyond' : '') + stale }, (study.any ? '\u2717 ' : '') + study.beyond),
    make('td', { class: stale }, `${three} ${study.unit}`),
  ];
}

/** Shows how far the variations are. */
export function progress(told, runs) {
  const bar = document.getElementById('progress');
  const text = document.getElementById('progress-text');
  const study = told.study;
  bar.hidden = !study;
  if (study) {
    bar.max = study.runs;
    bar.value = study.done;
    const two = document.body.classList.contains('two');
    const tenth = Math.floor((10 * study.done) / study.runs) * 10;
    say(text, `${two ? study.variant + ': ' : ''}${tenth} % of ${study.runs}`);
  } else {
    say(text, told.running ? 'running on the medians' : '');
  }
  const input = document.getElementById('runs');
  if (document.activeElement !== input) input.value = runs;
}
