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

// Where a pointer is in the picture's own coordinates.
export function spot(picture, event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(picture.getScreenCTM().inverse());
  return [point.x, point.y];
}
