// Rows that can be added and taken away on the page: data-module="rows" on an
// element that holds
//
//   [data-rows-list]          where rows stand, each marked data-row
//   <template>                one empty row, its index written __i__, in names and in words
//   [data-rows-add]           the button that adds one
//   [data-row-remove]         in a row, the button that takes it away
//
// Both buttons are plain submit buttons, so without this module the server adds
// or takes away the row and shows the page again.

import { start } from './main.js';

/**
 * @param {HTMLElement} root
 */
export default function rows(root) {
  const template = root.querySelector('template');
  if (!template) return; // the buttons go to the server
  root.addEventListener('click', (e) => {
    // Looked for anew, as a live form may have renewed the list.
    const list = root.querySelector('[data-rows-list]');
    if (!list) return;
    const at = /** @type {Element} */ (e.target);
    if (at.closest('[data-rows-add]')) {
      e.preventDefault();
      const row = fill(template, nextIndex(names(list)));
      list.append(row);
      start(row);
      /** @type {HTMLElement | null} */ (row.querySelector('input:not([type=hidden]), select, textarea'))?.focus();
      list.dispatchEvent(new Event('input', { bubbles: true }));
      return;
    }
    const key = at.closest('[data-row-remove]');
    const row = key?.closest('[data-row]');
    if (key && row) {
      e.preventDefault();
      const near = row.nextElementSibling ?? row.previousElementSibling;
      row.remove();
      const to = near?.querySelector('[data-row-remove]') ?? root.querySelector('[data-rows-add]');
      if (to instanceof HTMLElement) to.focus();
      list.dispatchEvent(new Event('input', { bubbles: true }));
    }
  });
}

/**
 * The number for a new row, from 1: one more than the highest in use. Gaps stay, for the
 * server takes rows in the order of the form and asks nothing of their numbers.
 *
 * @param {string[]} used names of the form's entries, as "fat.3.pct" or "water_g.3"
 * @returns {number}
 */
export function nextIndex(used) {
  let top = 0;
  for (const name of used) {
    const m = /\.(\d+)(?:\.|$)/.exec(name);
    if (m) top = Math.max(top, Number(m[1]));
  }
  return top + 1;
}

/**
 * @param {Element} list
 * @returns {string[]}
 */
function names(list) {
  return [...list.querySelectorAll('[name]')].map((e) => e.getAttribute('name') ?? '');
}

/**
 * A row from the template with its index written in.
 *
 * @param {HTMLTemplateElement} template
 * @param {number} index
 * @returns {Element}
 */
export function fill(template, index) {
  const made = /** @type {DocumentFragment} */ (template.content.cloneNode(true));
  for (const el of made.querySelectorAll('*')) {
    for (const a of [...el.attributes]) {
      if (a.value.includes('__i__')) el.setAttribute(a.name, a.value.replaceAll('__i__', String(index)));
    }
    for (const t of el.childNodes) {
      if (t.nodeType === Node.TEXT_NODE && t.data.includes('__i__')) t.data = t.data.replaceAll('__i__', String(index));
    }
  }
  const row = made.firstElementChild;
  if (!row) throw new Error('the template for a row is empty');
  return row;
}
