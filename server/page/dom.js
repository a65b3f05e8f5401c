/** Elements by name, attributes and children. Whatever is no element becomes text: nothing from people is ever read as HTML. */

/** @typedef {Node | string | number | null | undefined | false} Child */
/** @typedef {Record<string, unknown>} Attributes */

const SVG = 'http://www.w3.org/2000/svg';

/**
 * An element of HTML.
 * @param {string} name
 * @param {Attributes} [attributes] `onclick` and the like take a function; true and false set and leave out
 * @param {...(Child | Child[])} children
 * @returns {HTMLElement}
 */
export function el(name, attributes = {}, ...children) {
  return filled(document.createElement(name), attributes, children);
}

/**
 * An element of SVG.
 * @param {string} name
 * @param {Attributes} [attributes]
 * @param {...(Child | Child[])} children
 * @returns {SVGElement}
 */
export function drawn(name, attributes = {}, ...children) {
  return filled(/** @type {SVGElement} */ (document.createElementNS(SVG, name)), attributes, children);
}

/**
 * A button with what it does.
 * @param {string} label
 * @param {(event: Event) => void} onclick
 * @param {Attributes} [attributes]
 * @returns {HTMLButtonElement}
 */
export function button(label, onclick, attributes = {}) {
  return /** @type {HTMLButtonElement} */ (el('button', { type: 'button', onclick, ...attributes }, label));
}

/**
 * Puts children in the place of those there.
 * @param {Element} parent
 * @param {...(Child | Child[])} children
 */
export function put(parent, ...children) {
  parent.replaceChildren();
  append(parent, children);
}

/**
 * @template {Element} E
 * @param {E} element
 * @param {Attributes} attributes
 * @param {(Child | Child[])[]} children
 * @returns {E}
 */
function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (typeof value === 'function') {
      element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    } else {
      element.setAttribute(name, value === true ? '' : String(value));
    }
  }
  append(element, children);
  return element;
}

/**
 * @param {Element} parent
 * @param {(Child | Child[])[]} children
 */
function append(parent, children) {
  for (const child of children.flat()) {
    if (child === null || child === undefined || child === false) continue;
    parent.append(child instanceof Node ? child : String(child));
  }
}
