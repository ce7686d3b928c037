// Starts the modules that a page's elements ask for. A page works without any
// of them, only less lively. While one is on its way, the page's root is marked
// data-starting.

const starting = new WeakMap();
let onTheWay = 0;

/**
 * Starts every module asked for by an element under root with
 * data-module="live rows". A module is the file NAME.js beside this one, whose
 * default export takes the element. Each element is given to each module once.
 *
 * @param {ParentNode & Node} root
 */
export function start(root) {
  const found = [...root.querySelectorAll('[data-module]')];
  if (root instanceof Element && root.matches('[data-module]')) found.unshift(root);
  for (const el of found) {
    const done = starting.get(el) ?? new Set();
    starting.set(el, done);
    for (const name of moduleNames(el.getAttribute('data-module') ?? '')) {
      if (done.has(name)) continue;
      done.add(name);
      onTheWay++;
      document.documentElement.setAttribute('data-starting', '');
      import(`./${name}.js`).then((m) => m.default(el)).catch((err) => {
        console.error(`module ${name} did not start`, err);
      }).finally(() => {
        if (--onTheWay === 0) document.documentElement.removeAttribute('data-starting');
      });
    }
  }
}

/**
 * The names in a data-module attribute. What cannot be a file's name here is
 * left out, so that no attribute can reach another path.
 *
 * @param {string} text
 * @returns {string[]}
 */
export function moduleNames(text) {
  return text.split(/\s+/).filter((n) => /^[a-z][a-z-]*$/.test(n));
}

if (typeof document !== 'undefined') start(document);
