// A canvas beneath a picture, for what moves in it: drawn anew without a layout, as sharp as the screen is, with the
// pens of the page's style sheet. Words, scales and what is pointed at stay in the SVG above it.
import { make } from "./svg.js";

// `pens` are classes of the style sheet; `redraw` is called when the canvas has another size or the pens other colours.
// Gives {begin(scale), stroke(name), fill(name), width, end()}: `width` is that of the canvas in the page's pixels.
export function sheet(canvas, { pens, redraw }) {
  const context = canvas.getContext("2d");
  // One mark of each class, never shown, tells how the style sheet would draw it.
  const samples = make("g", { visibility: "hidden" }), marks = new Map(), looks = new Map();
  for (const name of pens) { const mark = make("path", { class: name }); marks.set(name, mark); samples.append(mark); }
  let ratio = 1, width = 0;

  function look() {
    for (const [name, mark] of marks) {
      const { stroke, strokeOpacity, strokeWidth, strokeDasharray, fill, fillOpacity } = getComputedStyle(mark);
      looks.set(name, {
        stroke, strokeOpacity: Number(strokeOpacity), wide: parseFloat(strokeWidth), fill, fillOpacity: Number(fillOpacity),
        dashes: strokeDasharray === "none" ? [] : strokeDasharray.split(",").map(parseFloat),
      });
    }
  }

  const again = () => { look(); redraw(); };
  const schemes = matchMedia("(prefers-color-scheme: dark)"), chosen = new MutationObserver(again);
  schemes.addEventListener("change", again);
  chosen.observe(document.documentElement, { attributeFilter: ["data-scheme"] });
  const sized = new ResizeObserver(([entry]) => {
    const { contentRect: box, devicePixelContentBoxSize: exact } = entry, dots = (length) => Math.round(length * devicePixelRatio);
    const [{ inlineSize, blockSize }] = exact ?? [{ inlineSize: dots(box.width), blockSize: dots(box.height) }];
    if (!inlineSize) return;
    width = box.width;
    ratio = inlineSize / width;
    if (canvas.width !== inlineSize || canvas.height !== blockSize) { canvas.width = inlineSize; canvas.height = blockSize; }
    redraw();
  });
  // Not every browser tells how many of the screen's dots a box has.
  try { sized.observe(canvas, { box: "device-pixel-content-box" }); } catch { sized.observe(canvas); }

  return {
    samples,
    look,
    get width() { return width; },
    // An empty canvas, whose unit is `scale` of the page's pixels; null while it has no size.
    begin(scale) {
      if (!width) return null;
      context.setTransform(1, 0, 0, 1, 0, 0);
      context.clearRect(0, 0, canvas.width, canvas.height);
      context.setTransform(ratio * scale, 0, 0, ratio * scale, 0, 0);
      context.lineJoin = "round";
      return context;
    },
    // The current path drawn as the style sheet draws that class; a wider or narrower line where one is given.
    stroke(name, { wide, dashes } = {}) {
      const one = looks.get(name);
      if (!one || one.stroke === "none" || !one.strokeOpacity) return;
      context.strokeStyle = one.stroke;
      context.globalAlpha = one.strokeOpacity;
      context.lineWidth = wide ?? one.wide;
      context.setLineDash(dashes ?? one.dashes);
      context.stroke();
    },
    fill(name, rule = "nonzero") {
      const one = looks.get(name);
      if (!one || one.fill === "none") return;
      context.fillStyle = one.fill;
      context.globalAlpha = one.fillOpacity;
      context.fill(rule);
    },
    end() { sized.disconnect(); chosen.disconnect(); schemes.removeEventListener("change", again); },
  };
}
