// A form whose results follow the typing: data-module="live" data-action="/path".
//
// On input the form is posted to data-action. The answer is HTML: elements with
// ids, each of which takes the place of the page's element with that id. The
// element that holds the caret is never taken out: in it, only what is marked
// data-live="key" is renewed. A key or link that has the focus is given it back
// after its element was renewed. A button marked data-press posts itself too, and
// changes the form in place; the answer may mark with data-focus what then has
// the focus. Without this module the form's own button does
// the same work, with a whole page.

import { start } from './main.js';

/**
 * @param {HTMLFormElement} form
 */
export default function live(form) {
  const action = form.dataset.action;
  if (!action) return;
  const status = statusOf(form);
  /** @type {AbortController | null} */
  let flight = null;
  let frame = 0;
  /** What was last posted, so that a change back and forth asks nothing. */
  let last = '';

  /** @param {HTMLButtonElement} [pressed] */
  const send = async (pressed) => {
    frame = 0;
    const fields = new URLSearchParams(/** @type {any} */ (new FormData(form)));
    if (pressed) fields.set(pressed.name, pressed.value);
    const body = fields.toString();
    if (body === last) return;
    flight?.abort();
    const mine = flight = new AbortController();
    try {
      const res = await fetch(action, {
        method: 'POST',
        body,
        headers: { 'Content-Type': 'application/x-www-form-urlencoded', 'Barwright-Live': '1' },
        signal: mine.signal,
        redirect: 'error',
      });
      const text = await res.text();
      if (mine !== flight) return;
      if (!(res.headers.get('Content-Type') ?? '').startsWith('text/html')) throw new Error(reason(res.status, text));
      swap(text, form.ownerDocument);
      last = pressed ? '' : body;
      if (pressed) form.querySelector('[data-focus]')?.focus();
      say(status, '');
      form.removeAttribute('data-stale');
    } catch (err) {
      if (mine.signal.aborted) return;
      last = '';
      form.setAttribute('data-stale', '');
      const why = err instanceof TypeError ? 'the program does not answer' : String(/** @type {Error} */ (err).message);
      say(status, `not worked out: ${why}`);
    }
  };
  const ask = () => {
    flight?.abort();
    flight = null;
    if (!frame) frame = requestAnimationFrame(() => send());
  };
  form.addEventListener('click', (e) => {
    const key = /** @type {Element} */ (e.target).closest('button[data-press]');
    if (!(key instanceof HTMLButtonElement)) return;
    e.preventDefault();
    cancelAnimationFrame(frame);
    send(key);
  });
  form.addEventListener('input', ask);
  form.addEventListener('change', ask);
}

/**
 * Why there was no answer that could be shown, in one line.
 *
 * @param {number} status
 * @param {string} text
 * @returns {string}
 */
export function reason(status, text) {
  const line = text.trim().split('\n')[0] ?? '';
  if (status >= 400 && line && line.length <= 300 && !line.startsWith('<')) return line;
  return `the program answered ${status}`;
}

/**
 * Puts the fragments of an answer in their places.
 *
 * @param {string} html
 * @param {Document} doc
 */
export function swap(html, doc) {
  const fresh = new DOMParser().parseFromString(html, 'text/html');
  for (const next of [...fresh.body.children]) {
    const now = next.id && doc.getElementById(next.id);
    if (!now || now.isEqualNode(next)) continue;
    const put = doc.importNode(next, true);
    const held = doc.activeElement;
    const inside = held !== null && held !== doc.body && now.contains(held);
    if (inside && held.matches('input, select, textarea')) {
      renew(now, put, held);
      continue;
    }
    for (const open of now.querySelectorAll('details[open][id]')) {
      put.querySelector(`details#${CSS.escape(open.id)}`)?.setAttribute('open', '');
    }
    now.replaceWith(put);
    start(put);
    if (inside) again(put, held)?.focus({ preventScroll: true });
  }
}

/**
 * The element of a fresh fragment that stands for one of the old: by its id, by
 * what it posts, or by where it leads.
 *
 * @param {Element} put
 * @param {Element} old
 * @returns {HTMLElement | null}
 */
function again(put, old) {
  const by = (/** @type {string} */ a) => `[${a}="${CSS.escape(old.getAttribute(a) ?? '')}"]`;
  const sel = old.id ? `#${CSS.escape(old.id)}` : old.hasAttribute('name') ? by('name') + by('value') : old.hasAttribute('href') ? `a${by('href')}` : '';
  return sel ? put.querySelector(sel) : null;
}

/**
 * Renews, inside an element that stays, only what is marked data-live.
 *
 * @param {Element} now
 * @param {Element} next
 * @param {Element | null} held the element that has the caret
 */
export function renew(now, next, held) {
  const fresh = new Map([...next.querySelectorAll('[data-live]')].map((e) => [e.getAttribute('data-live'), e]));
  for (const old of now.querySelectorAll('[data-live]')) {
    const to = fresh.get(old.getAttribute('data-live'));
    if (!to || old === held || old.isEqualNode(to)) continue;
    if (old.contains(held)) {
      continue;
    } else if ('value' in old && 'value' in to && old.matches('input, select, textarea')) {
      old.value = to.value;
    } else {
      old.replaceChildren(...to.childNodes);
      for (const a of ['class', 'hidden']) {
        const v = to.getAttribute(a);
        if (v === null) old.removeAttribute(a); else old.setAttribute(a, v);
      }
    }
  }
}

/**
 * The line that says when nothing could be worked out.
 *
 * @param {HTMLFormElement} form
 * @returns {HTMLElement}
 */
function statusOf(form) {
  const found = form.querySelector('[data-live-status]');
  if (found instanceof HTMLElement) return found;
  const p = form.ownerDocument.createElement('p');
  p.className = 'live-status';
  p.setAttribute('role', 'status');
  form.append(p);
  return p;
}

/**
 * @param {HTMLElement} status
 * @param {string} text
 */
function say(status, text) {
  if (status.textContent !== text) status.textContent = text;
}
