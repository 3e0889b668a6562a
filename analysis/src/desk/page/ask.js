// Asking the desk. Everything goes to where this page came from.

/** Asks for JSON; gives { status, body }. Never throws: a desk that has ended is status 0. */
export async function ask(path, body) {
  try {
    const how = body === undefined
      ? {}
      : { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) };
    const answer = await fetch('api/' + path, { cache: 'no-store', ...how });
    const text = await answer.text();
    let value = {};
    try { value = JSON.parse(text); } catch { value = { error: `the desk answered ${answer.status}` }; }
    return { status: answer.status, body: value };
  } catch {
    return { status: 0, body: { error: 'the desk does not answer: it was ended, or is being started again' } };
  }
}

/** An element with attributes and children. Text is text, never HTML. */
export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith('on')) element.addEventListener(key.slice(2), value);
    else element.setAttribute(key, value === true ? '' : value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

/** Sets text only where it differs, so that a live region speaks once. */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** An id for an element that stands for a path. */
export function idOf(path, which) {
  return 'f-' + which + '-' + path.replace(/[^\w]/g, (c) => '_' + c.codePointAt(0).toString(16));
}

let gestures = 0;
const page = Math.random().toString(36).slice(2);
/** A name for one movement of the hand: all of it is one step back. */
export function gesture() {
  gestures += 1;
  return page + '-' + gestures;
}
