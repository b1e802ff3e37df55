// A photo as it was taken, moved and made larger by mouse, fingers and keys, with marks that are dragged to places on it.
import { set, make } from "../cycle/svg.js";
import { fitted, moved, pinched, toBoard, toScreen, zoomed } from "./geometry.js";

const GRIP = 34; // px from a mark to what is taken hold of, so that the finger does not lie on the mark
const EDGE = 26; // px to the rim within which a grip goes to the other side
const STEP = 60; // px that an arrow key moves the photo
const LARGER = 8; // times, of the magnified mark

// `tapped(point)` is told of a click, in pixels of the upright photo; `drawn(line)` may draw lines over it: line(points,
// closed) with places in the photo. Gives {open, mark, draw, marks}.
export function viewer(place, { tapped = null, drawn = () => {} } = {}) {
  const image = place.querySelector("img"), overlay = place.appendChild(make("svg", { "aria-hidden": "true" })), loupe = document.createElement("canvas");
  loupe.className = "tracing-loupe";
  loupe.width = loupe.height = 240;
  loupe.hidden = true;
  loupe.setAttribute("aria-hidden", "true");
  place.append(loupe);
  const fingers = new Map();
  let size = [1, 1], view = null, whole = true, marks = [], doing = null;

  const area = () => [place.clientWidth, place.clientHeight];
  const board = () => ({ width: size[0], height: size[1] });
  const limits = () => { const least = fitted(board(), area(), 4).scale; return [least, Math.max(4, least * 8)]; };
  const at = (event) => { const { left, top } = place.getBoundingClientRect(); return [event.clientX - left, event.clientY - top]; };
  const look = (to) => { whole = false; view = to; draw(); };
  const fit = () => { whole = true; view = fitted(board(), area(), 4); draw(); };
  new ResizeObserver(() => { if (!place.clientWidth) return; if (whole || !view) fit(); else draw(); }).observe(place);

  function draw() {
    if (!view) return;
    if (image.naturalWidth) image.style.transform = `translate(${view.x}px, ${view.y}px) scale(${(view.scale * size[0]) / image.naturalWidth})`;
    const [width, height] = area();
    set(overlay, { viewBox: `0 0 ${width} ${height}` });
    overlay.replaceChildren();
    const line = (points, closed = false, name = "") => overlay.append(make(closed ? "polygon" : "polyline", { points: points.map((one) => toScreen(view, one).map((value) => value.toFixed(1)).join(",")).join(" "), class: name }));
    drawn(line);
    for (const one of marks) {
      const [x, y] = toScreen(view, one.at()), [dx, dy] = one.away(x, y, width, height);
      one.handle.style.transform = `translate(${(x + dx).toFixed(1)}px, ${(y + dy).toFixed(1)}px)`;
      one.handle.style.setProperty("--back-x", `${-dx}px`);
      one.handle.style.setProperty("--back-y", `${-dy}px`);
      overlay.append(make("line", { x1: x, y1: y, x2: x + dx, y2: y + dy, class: "tracing-stem" }));
    }
  }

  // The place under a mark, larger, in the corner that is farthest from it.
  function magnify(point) {
    loupe.hidden = !image.naturalWidth || !point;
    if (loupe.hidden) return;
    const context = loupe.getContext("2d"), per = image.naturalWidth / size[0], half = loupe.width / 2 / LARGER, middle = loupe.width / 2, style = getComputedStyle(loupe);
    const [x, y] = point.map((one) => one * per), [sx, sy] = toScreen(view, point), [width, height] = area();
    loupe.dataset.where = `${sy < height / 2 ? "bottom" : "top"} ${sx < width / 2 ? "right" : "left"}`;
    context.clearRect(0, 0, loupe.width, loupe.height);
    context.drawImage(image, x - half, y - half, 2 * half, 2 * half, 0, 0, loupe.width, loupe.height);
    for (const [colour, thick] of [[style.backgroundColor, 4], [style.color, 1.6]]) {
      context.strokeStyle = colour;
      context.lineWidth = thick;
      context.beginPath();
      for (const [ax, ay] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) { context.moveTo(middle + ax * 10, middle + ay * 10); context.lineTo(middle + ax * 60, middle + ay * 60); }
      context.stroke();
    }
  }

  // A mark: where it is, what is done when it was moved or taken out, which way its grip lies.
  function mark({ label, where, to, out = null, grip = () => [0, 1], text = "" }) {
    const handle = document.createElement("button");
    handle.type = "button";
    handle.className = "tracing-mark";
    handle.textContent = text;
    handle.setAttribute("aria-label", label);
    const inside = ([x, y]) => { to(Math.min(size[0], Math.max(0, x)), Math.min(size[1], Math.max(0, y))); magnify(where()); draw(); };
    let from = null;
    handle.addEventListener("pointerdown", (event) => { if (event.button > 0) return; handle.setPointerCapture(event.pointerId); from = [event.clientX, event.clientY, ...where()]; event.preventDefault(); event.stopPropagation(); handle.focus({ preventScroll: true, focusVisible: false }); magnify(where()); });
    handle.addEventListener("pointermove", (event) => { if (from) inside([from[2] + (event.clientX - from[0]) / view.scale, from[3] + (event.clientY - from[1]) / view.scale]); });
    for (const done of ["pointerup", "pointercancel"]) handle.addEventListener(done, () => { from = null; magnify(null); });
    handle.addEventListener("blur", () => magnify(null));
    handle.addEventListener("keydown", (event) => {
      const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key], step = event.shiftKey ? 10 : 1;
      if (by) inside([where()[0] + by[0] * step, where()[1] + by[1] * step]);
      else if (out && (event.key === "Delete" || event.key === "Backspace")) out();
      else return;
      event.preventDefault();
      event.stopPropagation();
    });
    const away = (x, y, width, height) => {
      const [dx, dy] = grip().map((one) => one * GRIP);
      return [x + dx < EDGE || x + dx > width - EDGE ? -dx : dx, y + dy < EDGE || y + dy > height - EDGE ? -dy : dy];
    };
    const made = { handle, at: where, away };
    place.append(handle);
    marks.push(made);
    return { focus: () => handle.focus(), remove: () => { handle.remove(); marks = marks.filter((one) => one !== made); magnify(null); } };
  }

  place.addEventListener("pointerdown", (event) => {
    if (!view || event.button > 0) return;
    place.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, at(event));
    doing = fingers.size === 2 ? { pinch: [...fingers.values()] } : { pan: at(event), from: at(event), moved: false };
  });
  place.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId) || !doing) return;
    const here = at(event);
    fingers.set(event.pointerId, here);
    if (doing.pinch) {
      if (fingers.size < 2) return;
      const now = [...fingers.values()];
      look(pinched(view, doing.pinch, now, limits()));
      doing.pinch = now;
      return;
    }
    doing.moved ||= Math.hypot(here[0] - doing.from[0], here[1] - doing.from[1]) > 4;
    if (!doing.moved) return;
    look(moved(view, here[0] - doing.pan[0], here[1] - doing.pan[1]));
    doing.pan = here;
  });
  const end = (event) => {
    if (!fingers.delete(event.pointerId) || !doing) return;
    const did = doing;
    if (did.pinch) { if (!fingers.size) doing = null; return; }
    doing = null;
    if (!did.moved && event.type === "pointerup") tap(at(event));
  };
  place.addEventListener("pointerup", end);
  place.addEventListener("pointercancel", end);
  function tap(screen) {
    const [x, y] = toBoard(view, screen);
    if (tapped && x >= 0 && y >= 0 && x <= size[0] && y <= size[1]) tapped([x, y]);
  }
  place.addEventListener("wheel", (event) => {
    if (!view) return;
    event.preventDefault();
    look(zoomed(view, at(event), Math.exp(-event.deltaY * (event.deltaMode === 1 ? 16 : 1) * 0.0016), limits()));
  }, { passive: false });
  place.addEventListener("keydown", (event) => {
    if (!view || event.ctrlKey || event.metaKey || event.altKey || event.target !== place) return;
    const arrow = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key], middle = area().map((one) => one / 2);
    if (arrow) look(moved(view, arrow[0] * STEP, arrow[1] * STEP));
    else if (event.key === "+" || event.key === "=") look(zoomed(view, middle, 1.25, limits()));
    else if (event.key === "-") look(zoomed(view, middle, 0.8, limits()));
    else if (event.key === "0") fit();
    else if (event.key === "Enter" && tapped) tap(middle);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  image.addEventListener("load", () => draw());

  return {
    mark, draw,
    open(source, large) {
      size = large;
      place.style.aspectRatio = `${large[0] / large[1]}`;
      if (image.dataset.source !== source) { image.dataset.source = source; image.src = source; }
      magnify(null);
      if (place.clientWidth) fit();
    },
    clear() { for (const one of marks) one.handle.remove(); marks = []; magnify(null); },
  };
}

// Where a photo of the record is shown from, large enough for marks to be set on it.
export const pictureOf = (file) => `${document.body.dataset.item}/photo/${file.split("/").map(encodeURIComponent).join("/")}?wide=2000`;
