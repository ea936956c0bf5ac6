/** Building the page: elements from plain data, so that text never becomes markup. */
import { when } from './words.js';

/** @typedef {Node | string | null | undefined | false} Child */
/** @typedef {{class?: string, text?: string, key?: string, on?: Record<string, (event: any) => void>, attrs?: Record<string, string | number | boolean | null | undefined>}} Props */

/**
 * An HTML element. `attrs`: true sets an empty attribute; false, null and undefined set none. `key` names it for
 * keeping the focus over a redraw.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Props | null} [props]
 * @param {...(Child | Child[])} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(tag, props, ...children) {
  return fill(document.createElement(tag), props ?? {}, children);
}

/**
 * An SVG element.
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag
 * @param {Props | null} [props]
 * @param {...(Child | Child[])} children
 * @returns {SVGElementTagNameMap[T]}
 */
export function makeSvg(tag, props, ...children) {
  return fill(document.createElementNS('http://www.w3.org/2000/svg', tag), props ?? {}, children);
}

/**
 * @template {Element} E
 * @param {E} element @param {Props} props @param {(Child | Child[])[]} children @returns {E}
 */
function fill(element, props, children) {
  if (props.class) element.setAttribute('class', props.class);
  if (props.key) element.setAttribute('data-key', props.key);
  for (const [name, value] of Object.entries(props.attrs ?? {})) {
    if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value === true ? '' : String(value));
  }
  for (const [name, heard] of Object.entries(props.on ?? {})) element.addEventListener(name, heard);
  if (props.text !== undefined) element.textContent = local(props.text);
  add(element, children);
  return element;
}

/** @param {Node} parent @param {(Child | Child[])[]} children */
function add(parent, children) {
  for (const child of children.flat()) {
    if (child !== null && child !== undefined && child !== false) parent.appendChild(typeof child === 'string' ? document.createTextNode(local(child)) : child);
  }
}

/**
 * Puts these children in place of what is in a node.
 * @param {Node} node
 * @param {...(Child | Child[])} children
 */
export function replace(node, ...children) {
  while (node.firstChild) node.removeChild(node.firstChild);
  add(node, children);
}

/** A sentence of the core with its times in the zone of this phone or desk, as all others are. @param {string} text */
export const local = (text) => text.replace(/\b\d{4}-\d\d-\d\dT\d\d:\d\dZ/g, (at) => when(at));

let made = 0;
/** An id that no other element has. @param {string} stem */
export const newId = (stem) => `${stem}-${(made += 1)}`;
