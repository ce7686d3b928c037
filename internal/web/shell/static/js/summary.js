// The summary of what was refused takes the focus, so that a screen reader
// begins there and a key press goes to the first link.

/**
 * @param {HTMLElement} el
 */
export default function summary(el) {
  el.focus();
}
