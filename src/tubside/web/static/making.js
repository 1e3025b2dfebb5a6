// An element of a page, made by a script.

/** @param {string} tag @param {string} [kind] its class @param {string} [text] */
export function made(tag, kind = "", text = "") {
  const element = document.createElement(tag);
  if (kind) element.className = kind;
  if (text) element.textContent = text;
  return element;
}
