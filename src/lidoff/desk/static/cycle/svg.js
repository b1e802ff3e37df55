// SVG elements made and changed.

const SPACE = "http://www.w3.org/2000/svg";

export function make(name, attributes = {}, ...children) {
  const node = document.createElementNS(SPACE, name);
  set(node, attributes);
  node.append(...children);
  return node;
}

export function set(node, attributes) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null) node.removeAttribute(name);
    else node.setAttribute(name, typeof value === "number" ? String(Math.round(value * 100) / 100) : value);
  }
  return node;
}

// An attribute that is as it was is left alone: setting it would have the picture laid out and painted anew.
export function put(node, name, value) {
  if (node.getAttribute(name) !== value) node.setAttribute(name, value);
}

// And so for words.
export function write(node, text) {
  if (node.textContent !== text) node.textContent = text;
}
