// The desk's page. It holds no state of its own: what it shows is what the desk tells, whichever tab has changed it.
import { ask, make, say } from './ask.js';
import * as forms from './forms.js';
import * as curves from './curves.js';
import * as results from './results.js';

let state = null;
let seen = { version: 0, forms: -1, results: -1 };
const told = document.getElementById('told');

function take(next) {
  if (state && next.version < state.version) return;
  state = next;
  seen.forms = next.forms;
  forms.show(next);
  head(next);
}

// What else is to be asked for waits until the hand rests: meanwhile answers to it have the way for themselves.
let asking = 0;
let rested = 0;
/** When something was changed here whose curves have not come yet: how soon they do is told of no other change. */
let changed;
const REST = 120;

async function rest() {
  for (;;) {
    const left = asking > 0 ? REST : rested + REST - performance.now();
    if (left <= 0) return;
    await new Promise((done) => setTimeout(done, left));
  }
}

/** Asks for an action; true if it was done. Its answer brings the curves that are in view, if their run has ended by then. */
async function act(action) {
  asking += 1;
  changed = performance.now();
  const { status, body } = await ask('do', { action, in_view: curves.inView() });
  asking -= 1;
  rested = performance.now();
  if (status === 200) {
    say(told, '');
    if (body.state) take(body.state);
    if (body.results) {
      present(body.results);
      changed = undefined;
    }
    return true;
  }
  say(told, '\u26a0 ' + body.error);
  if (status === 409) await refresh();
  return false;
}

function present(next) {
  if (next.results < seen.results) return;
  // What is not in view is still to come.
  if (!next.in_view) seen.results = next.results;
  if (results.show(next, changed)) changed = undefined;
}

async function refresh() {
  const { status, body } = await ask('state');
  if (status === 200) take(body);
}

function head(now) {
  const [a, b] = now.variants;
  const title = a.title ?? 'Breathroom desk';
  say(document.getElementById('title'), title);
  document.title = `${now.variants.some((one) => one.unsaved) ? '* ' : ''}${title} \u2013 Breathroom desk`;
  say(document.getElementById('file'), (now.name ?? 'not saved yet') + (a.unsaved ? ', with changes that are not saved' : ''));
  const name = document.getElementById('save-name');
  if (document.activeElement !== name && !name.value) name.value = now.name ?? '';
  tools(document.getElementById('tools-a'), a, 'A', !b);
  tools(document.getElementById('tools-b'), b, 'B', false);
  const groups = document.getElementById('add-group');
  if (groups.options.length === 0) {
    groups.replaceChildren(...now.groups.map((group) => make('option', { value: group.path }, group.path)));
    groups.addEventListener('change', about);
    about();
  }
  faults(now);
}

function about() {
  const group = state.groups.find((one) => one.path === document.getElementById('add-group').value);
  say(document.getElementById('add-meaning'), group ? group.meaning : '');
  document.getElementById('add-name').disabled = !group?.named;
}

function tools(place, variant, name, alone) {
  const text = variant ? JSON.stringify([variant.undo > 0, variant.redo > 0, alone]) : '';
  if (place.dataset.text === text) return;
  place.dataset.text = text;
  if (!variant) {
    place.replaceChildren();
    return;
  }
  const button = (words, action, off) => make('button', { type: 'button', disabled: off, onclick: () => act(action) }, words);
  place.replaceChildren(
    make('strong', { class: 'variant' }, name),
    button('Undo', { do: 'undo', variant: name }, variant.undo === 0),
    button('Redo', { do: 'redo', variant: name }, variant.redo === 0),
    ...(alone ? [button('Copy as B', { do: 'copy' }, false)] : []),
    ...(name === 'B' ? [button('Drop B', { do: 'drop' }, false), button('Make B the new A', { do: 'promote' }, false)] : []),
  );
}

function faults(now) {
  const lines = [];
  const more = [];
  now.variants.forEach((variant) => {
    const of = now.variants.length > 1 ? variant.name + ': ' : '';
    for (const fault of variant.faults) {
      const text = of + fault.message + (fault.help ? ` \u2013 ${fault.help}` : '');
      const where = fault.at === null ? (fault.line ? ` (line ${fault.line})` : '') : ` (${fault.at})`;
      lines.push('\u26a0 ' + text + where);
    }
    for (const warning of variant.warnings) more.push(of + warning);
  });
  const place = document.getElementById('faults');
  const text = lines.join('\n');
  if (place.dataset.text !== text) {
    place.dataset.text = text;
    place.replaceChildren(...lines.map((line) => make('p', {}, line)));
  }
  const looks = document.getElementById('warnings');
  if (looks.dataset.text !== more.join('\n')) {
    looks.dataset.text = more.join('\n');
    looks.replaceChildren(...(more.length === 0 ? [] : [make('details', { class: 'note' },
      make('summary', {}, `Worth a look: ${more.length}`), ...more.map((line) => make('p', {}, line)))]));
  }
}

/** Waits for the desk, for ever: a change by any tab, a run that has ended, a step of the variations. */
async function follow() {
  for (;;) {
    const { status, body } = await ask('wait?seen=' + seen.version);
    if (status !== 200) {
      say(told, '\u26a0 ' + body.error);
      await new Promise((done) => setTimeout(done, 2000));
      continue;
    }
    if (told.textContent.includes('does not answer')) say(told, '');
    seen.version = body.version;
    if (body.results > seen.results || body.forms > seen.forms) await rest();
    if (body.results > seen.results) {
      const answer = await ask('results?drawn=' + (curves.drawn() ?? ''));
      if (answer.status === 200) present(answer.body);
    }
    if (body.forms > seen.forms) await refresh();
    if (state) results.progress(body, state.runs);
  }
}

/** Saves; asks first where a file would be replaced. */
async function save(over) {
  const name = document.getElementById('save-name').value;
  const variant = state.variants.length > 1 ? document.getElementById('save-which').value : 'A';
  const { status, body } = await ask('save', over ? { variant, name, over } : { variant, name });
  const question = document.getElementById('question');
  question.hidden = true;
  if (status === 200) {
    take(body);
    say(told, `Saved ${name}`);
  } else if (status === 409 && body.question) {
    say(document.getElementById('question-text'), body.question);
    question.hidden = false;
    document.getElementById('question-yes').onclick = () => save(body.digest);
    document.getElementById('question-no').focus();
  } else {
    say(told, '\u26a0 ' + body.error);
  }
}

document.getElementById('saving').addEventListener('submit', (event) => { event.preventDefault(); save(); });
document.getElementById('question-no').addEventListener('click', () => {
  document.getElementById('question').hidden = true;
  document.getElementById('save-name').focus();
});
document.getElementById('adding').addEventListener('submit', (event) => {
  event.preventDefault();
  const variant = state.variants.length > 1 ? document.getElementById('add-which').value : 'A';
  act({ do: 'add-table', variant, group: document.getElementById('add-group').value, name: document.getElementById('add-name').value });
});
document.getElementById('varying').addEventListener('submit', (event) => event.preventDefault());
document.getElementById('runs').addEventListener('change', (event) => act({ do: 'runs', runs: Number(event.target.value) }));
document.addEventListener('keydown', (event) => {
  const typed = event.target.matches?.('input:not([type=range]), textarea, select');
  if (typed || !(event.ctrlKey || event.metaKey) || event.altKey || !state) return;
  const key = event.key.toLowerCase();
  if (key !== 'z' && key !== 'y') return;
  event.preventDefault();
  act({ do: key === 'y' || event.shiftKey ? 'redo' : 'undo', variant: 'A' });
});

forms.attach(act);
refresh().then(() => {
  if (state) say(document.getElementById('caution'), state.caution);
  follow();
});
