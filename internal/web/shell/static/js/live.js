// A form whose results follow the typing: data-module="live" data-action="/path".
//
// On input the form is posted to data-action. The answer is HTML: elements with
// ids, each of which takes the place of the page's element with that id. The
// element that holds the caret is never taken out: in it, only what is marked
// data-live="key" is renewed. A key or link that has the focus is given it back
// after its element was renewed. A button marked data-press posts itself too, and
// changes the form in place; the answer may mark with data-focus what then has
// the focus. The form is marked data-asking from a change until its answer stands
// on the page. Without this module the form's own button does
// the same work, with a whole page.
//
// Faults that were drawn with the page are about what was sent then. They go with the
// next answer, which says by itself what still hinders the sums.

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
  /** The press that is on its way: it moves rows, so its answer is waited for.
   * @type {HTMLButtonElement | null} */
  let pressing = null;
  /** What came while it was: presses of the same key, and whether anything was typed. */
  let more = 0;
  let typed = false;
  /** What was last posted, so that a change back and forth asks nothing. */
  let last = '';

  /** @param {HTMLButtonElement} [pressed] */
  const send = async (pressed) => {
    frame = 0;
    const fields = new URLSearchParams(/** @type {any} */ (new FormData(form)));
    if (pressed) fields.set(pressed.name, pressed.value);
    const body = fields.toString();
    if (body === last) {
      form.removeAttribute('data-asking');
      return;
    }
    flight?.abort();
    const mine = flight = new AbortController();
    pressing = pressed ?? null;
    form.setAttribute('data-asking', '');
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
      clearFaults(form);
      swap(text, form.ownerDocument);
      last = pressed ? '' : body;
      if (pressed) focusOf(form)?.focus();
      say(status, '');
      form.removeAttribute('data-stale');
    } catch (err) {
      if (mine.signal.aborted) return;
      last = '';
      form.setAttribute('data-stale', '');
      const why = err instanceof TypeError ? 'the program does not answer' : String(/** @type {Error} */ (err).message);
      say(status, `not worked out: ${why}`);
    } finally {
      if (mine === flight) landed();
    }
  };
  const landed = () => {
    const again = more > 0 && focusOf(form);
    const changed = typed;
    flight = pressing = null;
    more = again ? more - 1 : 0;
    typed = false;
    if (again) send(again);
    else if (changed) ask();
    else form.removeAttribute('data-asking');
  };
  const ask = () => {
    if (pressing) {
      typed = true;
      return;
    }
    form.setAttribute('data-asking', '');
    flight?.abort();
    flight = null;
    if (!frame) frame = requestAnimationFrame(() => send());
  };
  form.addEventListener('click', (e) => {
    const key = /** @type {Element} */ (e.target).closest('button[data-press]');
    if (!(key instanceof HTMLButtonElement)) return;
    e.preventDefault();
    if (pressing) {
      // The same key once more moves its row on; another names rows as they stood
      // before, and would move a wrong one.
      if (key.value === pressing.value) more++;
      return;
    }
    cancelAnimationFrame(frame);
    send(key);
  });
  form.addEventListener('input', ask);
  form.addEventListener('change', ask);
  // What was typed or chosen before this module was here is answered too.
  if (changed(form)) ask();
}

/**
 * Whether a form holds anything else than it was served with.
 *
 * @param {HTMLFormElement} form
 * @returns {boolean}
 */
export function changed(form) {
  return [...form.elements].some((e) => {
    if (e instanceof HTMLSelectElement) {
      const said = [...e.options].some((o) => o.defaultSelected);
      return said ? [...e.options].some((o) => o.selected !== o.defaultSelected) : e.selectedIndex > 0;
    }
    if (e instanceof HTMLTextAreaElement) return e.value !== e.defaultValue;
    if (!(e instanceof HTMLInputElement) || e.type === 'hidden') return false;
    return e.type === 'radio' || e.type === 'checkbox' ? e.checked !== e.defaultChecked : e.value !== e.defaultValue;
  });
}

/**
 * Takes the faults away that stand at a form's fields, and their summary.
 *
 * @param {HTMLFormElement} form
 */
export function clearFaults(form) {
  form.ownerDocument.querySelector('.summary[role=alert]')?.remove();
  for (const said of form.querySelectorAll('.fault')) {
    for (const of of form.querySelectorAll(`[aria-describedby~="${CSS.escape(said.id)}"]`)) {
      const left = (of.getAttribute('aria-describedby') ?? '').split(' ').filter((id) => id !== said.id);
      if (left.length) of.setAttribute('aria-describedby', left.join(' ')); else of.removeAttribute('aria-describedby');
      of.removeAttribute('aria-invalid');
    }
    said.remove();
  }
  for (const field of form.querySelectorAll('.field-fault')) field.classList.remove('field-fault');
}

/**
 * The key that has the focus after a press.
 *
 * @param {HTMLFormElement} form
 * @returns {HTMLButtonElement | null}
 */
function focusOf(form) {
  return form.querySelector('button[data-focus]');
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
