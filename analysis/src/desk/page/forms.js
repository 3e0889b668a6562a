// The scenario as forms and sliders. A form is built anew only when its shape changes; else values go into what is there, and
// never into what is being typed in.
import { ask, gesture, idOf, make, say } from './ask.js';

const NAMES = ['A', 'B'];
let act = async () => {};
let shape = '';
let hand = '';
const rows = new Map();
const sliders = new Map();

export function attach(does) {
  act = does;
}

/** Shows a state. */
export function show(state) {
  const two = state.variants.length > 1;
  if (document.body.classList.contains('two') !== two) {
    document.body.classList.toggle('two', two);
    // The columns are others now.
    window.breathroomFigures?.fit();
  }
  showSliders(state);
  const now = JSON.stringify(state.parts.map((part) => [
    part.path, part.header, part.in, part.add, part.fields.map((field) => [
      field.path, field.name, field.editable, field.movable, field.pinned, field.note, field.cells.map((cell) => cell !== null),
    ]),
  ]));
  if (now !== shape) {
    shape = now;
    build(state);
  }
  for (const part of state.parts) {
    const place = document.getElementById(idOf(part.path, 'part') + '-faults');
    if (place) faults(place, part.faults, state);
    for (const field of part.fields) update(field, state);
  }
}

function build(state) {
  const held = document.activeElement;
  const keep = held && held.id ? { id: held.id, value: held.value, at: held.selectionStart, end: held.selectionEnd } : null;
  const open = new Set([...document.querySelectorAll('#parts details[open]')].map((one) => one.id));
  rows.clear();
  const parts = document.getElementById('parts');
  parts.replaceChildren(...state.parts.map((part) => partOf(part, state)));
  const contents = document.getElementById('contents');
  contents.replaceChildren(...state.parts.map((part) => make('a', { href: '#' + idOf(part.path, 'part') }, name(part))));
  for (const id of open) document.getElementById(id)?.setAttribute('open', '');
  const again = keep && document.getElementById(keep.id);
  if (again && again !== document.activeElement) {
    again.focus({ preventScroll: true });
    if (keep.value !== undefined && again.dataset.typed === undefined && again.value !== keep.value && held.dataset?.typed) {
      again.value = keep.value;
      again.dataset.typed = 'yes';
    }
    try { again.setSelectionRange(keep.at, keep.end); } catch { /* no text in it */ }
  }
}

function name(part) {
  return part.path === '' ? 'top level' : part.path;
}

function partOf(part, state) {
  const id = idOf(part.path, 'part');
  const two = state.variants.length > 1;
  const title = part.path === '' ? 'Top level' : part.header;
  const only = two && part.in.includes(false) ? make('span', { class: 'mark' }, 'only in ' + NAMES[part.in.indexOf(true)]) : null;
  const box = make('section', { class: 'part', id, 'aria-labelledby': id + '-title' },
    make('h3', { id: id + '-title' }, make('code', {}, title), ' ', only),
    make('p', { class: 'small' }, part.meaning),
    note(part.note),
    make('div', { id: id + '-faults', class: 'faults', 'aria-live': 'polite' }),
    ...part.fields.map((field) => row(field, state)),
    ...part.add.map((list, n) => adder(part, list, n, two)),
  );
  if (part.removable) {
    part.in.forEach((there, n) => {
      if (!there) return;
      box.append(make('button', {
        type: 'button', class: 'quiet',
        onclick: () => act({ do: 'remove-table', variant: NAMES[n], path: part.path }),
      }, `Take out ${part.header}` + (two ? ` of ${NAMES[n]}` : '')));
    });
  }
  return box;
}

function note(text) {
  if (!text) return null;
  if (text.length < 160) return make('p', { class: 'note' }, text);
  const lines = text.split('\n');
  return make('details', { class: 'note' }, make('summary', {}, lines[0].slice(0, 90) + ' ...'),
    ...lines.map((line) => make('p', {}, line)));
}

function adder(part, list, n, two) {
  if (list.length === 0 || !part.in[n]) return null;
  const id = idOf(part.path, 'add' + n);
  const choice = make('select', { id }, ...list.map((key) => make('option', { value: key.name }, key.name)));
  const about = make('span', { class: 'small' });
  const tell = () => {
    const key = list.find((one) => one.name === choice.value);
    about.textContent = key ? `${key.meaning} Takes: ${key.takes}.` + (key.without ? ` Without it: ${key.without}.` : '') : '';
  };
  choice.addEventListener('change', tell);
  tell();
  return make('details', { class: 'adder', id: id + '-box' },
    make('summary', {}, 'Add a key' + (two ? ` to ${NAMES[n]}` : '')),
    make('label', { for: id }, 'Key '), choice, ' ',
    make('button', {
      type: 'button',
      onclick: () => act({ do: 'add', variant: NAMES[n], part: part.path, name: choice.value }),
    }, 'Add'), ' ', about);
}

function row(field, state) {
  const two = state.variants.length > 1;
  const cells = NAMES.slice(0, state.variants.length).map((variant, n) => cellOf(field, variant, n, two));
  const differs = make('span', { class: 'differs', role: 'img', 'aria-label': 'A and B differ' }, '\u2260');
  differs.hidden = true;
  const pin = field.movable ? make('button', {
    type: 'button', class: 'quiet pin', 'aria-pressed': String(field.pinned),
    onclick: () => act({ do: 'pin', path: field.path, pinned: !field.pinned }),
  }, field.pinned ? 'Slider on' : 'Slider') : null;
  const about = make('p', { class: 'small', id: idOf(field.path, 'about') },
    field.meaning + (field.takes ? ` Takes: ${field.takes}.` : ''));
  const box = make('div', { class: 'field' },
    make('div', { class: 'key' }, make('label', { for: idOf(field.path, 'A') }, make('code', {}, field.name)), differs, pin),
    make('div', { class: 'cells' }, ...cells.map((cell) => cell.box)),
    about, field.note ? make('p', { class: 'note' }, field.note) : null);
  rows.set(field.path, { box, cells, differs, pin });
  return box;
}

function cellOf(field, variant, n, two) {
  const id = idOf(field.path, variant);
  const there = field.cells[n] !== null;
  if (!there) {
    return { box: make('div', { class: 'cell' }, make('span', { class: 'small' }, `not in ${variant}` + (field.without ? `: ${field.without}` : ''))) };
  }
  const long = (field.cells[n].text.length > 60 || field.cells[n].text.includes('\n'));
  const list = field.words.length > 0 ? id + '-words' : undefined;
  const input = make(long ? 'textarea' : 'input', {
    id, list: long ? undefined : list, rows: long ? 3 : undefined, autocomplete: 'off', spellcheck: 'false',
    'aria-describedby': `${id}-told ${idOf(field.path, 'about')}`,
    'aria-label': two ? `${field.path} in ${variant}` : undefined,
    disabled: !field.editable,
  });
  input.value = field.cells[n].text;
  typing(input, field.path, variant);
  const told = make('div', { class: 'faults', id: id + '-told', 'aria-live': 'polite' });
  const spread = make('div', { class: 'small spread' });
  const gone = field.required || !field.editable ? null : make('button', {
    type: 'button', class: 'quiet remove',
    title: field.without ? `Without it: ${field.without}` : 'Take this key out',
    'aria-label': `Take out ${field.path}` + (two ? ` of ${variant}` : ''),
    onclick: () => act({ do: 'remove', variant, path: field.path }),
  }, '\u00d7');
  const box = make('div', { class: 'cell' },
    two ? make('span', { class: 'variant' }, variant) : null,
    make('div', { class: 'line' }, input, gone),
    list ? make('datalist', { id: list }, ...field.words.map((word) => make('option', { value: word }))) : null,
    spread, told);
  return { box, input, told, spread };
}

/** What is typed goes out when the field is left, on Enter, and when the hand rests. */
function typing(input, path, variant) {
  let timer = 0;
  let own = gesture();
  const send = async () => {
    clearTimeout(timer);
    if (input.dataset.typed === undefined) return;
    const text = input.value;
    const done = await act({ do: 'edit', variant, path, text, gesture: own });
    if (done && input.value === text) delete input.dataset.typed;
  };
  input.addEventListener('focus', () => { own = gesture(); });
  input.addEventListener('input', () => {
    input.dataset.typed = 'yes';
    clearTimeout(timer);
    timer = setTimeout(send, 500);
  });
  input.addEventListener('change', send);
  input.addEventListener('blur', send);
  input.addEventListener('keydown', (event) => {
    if (event.key === 'Enter' && input.tagName === 'INPUT') send();
  });
}

function update(field, state) {
  const row = rows.get(field.path);
  if (!row) return;
  row.differs.hidden = !field.differs;
  row.box.classList.toggle('is-different', field.differs);
  field.cells.forEach((cell, n) => {
    const own = row.cells[n];
    if (!cell || !own || !own.input) return;
    if (own.input.dataset.typed === undefined && own.input.value !== cell.text) own.input.value = cell.text;
    own.input.setAttribute('aria-invalid', String(cell.faults.length > 0));
    say(own.spread, cell.spread ?? '');
    const list = NAMES.map((_, at) => (at === n ? cell.faults : []));
    faults(own.told, list.slice(0, state.variants.length), state, true);
  });
}

function faults(place, each, state, own = false) {
  const lines = [];
  each.forEach((list, n) => list.forEach((fault) => {
    const of = state.variants.length > 1 && !own ? `${NAMES[n]}: ` : '';
    lines.push(of + fault.message + (fault.help ? ` \u2013 ${fault.help}` : ''));
  }));
  const text = lines.join('\n');
  if (place.dataset.text === text) return;
  place.dataset.text = text;
  place.replaceChildren(...lines.map((line) => make('p', {}, '\u26a0 ' + line)));
}

function showSliders(state) {
  const now = JSON.stringify(state.sliders.map((one) => [one.path, one.cells.map((cell) => cell && cell.unit)]));
  const place = document.getElementById('sliders');
  document.getElementById('no-sliders').hidden = state.sliders.length > 0;
  if (now !== hand) {
    hand = now;
    sliders.clear();
    place.replaceChildren(...state.sliders.map((one) => sliderOf(one, state)));
  }
  for (const one of state.sliders) {
    one.cells.forEach((cell, n) => {
      const own = sliders.get(one.path + '\n' + n);
      if (!cell || !own) return;
      const { input, output } = own;
      if (own.moving) return;
      input.min = Math.min(one.range[0], cell.value);
      input.max = Math.max(one.range[1], cell.value);
      input.step = cell.step;
      input.value = cell.value;
      say(output, number(cell.value) + (cell.unit ? ' ' + cell.unit : '') + (cell.keeps ? ' \u00b1' : ''));
      output.title = cell.keeps ? `Median; the spread is ${cell.keeps} about it` : '';
      input.setAttribute('aria-valuetext', output.textContent);
    });
  }
}

function number(value) {
  return Number(value.toPrecision(4)).toString();
}

function sliderOf(one, state) {
  const two = state.variants.length > 1;
  const lines = one.cells.map((cell, n) => {
    if (!cell) return two ? make('p', { class: 'small' }, `${NAMES[n]}: not there`) : null;
    const id = idOf(one.path, 'slider' + n);
    const output = make('output', { for: id });
    const input = make('input', { type: 'range', id, step: 'any', min: '0', max: '1', 'aria-label': `${one.path} of ${NAMES[n]}` });
    const own = { input, output, moving: false };
    sliders.set(one.path + '\n' + n, own);
    moving(own, one.path, NAMES[n], cell.unit);
    return make('div', { class: 'slide' }, two ? make('span', { class: 'variant' }, NAMES[n]) : null, input, output);
  });
  return make('div', { class: 'slider' },
    make('div', { class: 'key' },
      make('label', { for: idOf(one.path, 'slider0'), title: one.meaning }, make('code', {}, one.path)),
      make('button', {
        type: 'button', class: 'quiet', 'aria-label': `Put ${one.path} away`,
        onclick: () => act({ do: 'pin', path: one.path, pinned: false }),
      }, '\u00d7')),
    ...lines);
}

/** One request at a time; where the hand is by then goes next, what was in between is never asked. */
function moving(own, path, variant, unit) {
  let asked = false;
  let next = null;
  let held = gesture();
  const send = async () => {
    if (asked || next === null) return;
    asked = true;
    const value = next;
    next = null;
    await act({ do: 'slide', variant, path, value, gesture: held });
    asked = false;
    if (next !== null) send();
    else own.moving = own.down === true;
  };
  const begin = () => { held = gesture(); own.down = true; };
  own.input.addEventListener('pointerdown', begin);
  own.input.addEventListener('focus', () => { held = gesture(); });
  own.input.addEventListener('input', () => {
    own.moving = true;
    next = Number(own.input.value);
    say(own.output, number(next) + (unit ? ' ' + unit : ''));
    send();
  });
  const end = () => { own.down = false; if (!asked) own.moving = false; };
  own.input.addEventListener('pointerup', end);
  own.input.addEventListener('pointercancel', end);
  own.input.addEventListener('change', end);
}
