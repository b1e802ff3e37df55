// The cycle dial: one mains cycle as a ring, from the top clockwise; see drawing/dial.py, whose form it has.
import { bearing } from "./knob.js";
import { follow } from "./scale.js";
import { make, set, spot } from "./svg.js";
import { arc, band, largest, ring } from "./waves.js";

const W = 324, X = 162, Y = 152, OUTER = 112, ARC = 8, GAP = 2.5, RING = 36, SIZE = 13, MOST_ARCS = 4;
const DASHES = ["", "", "6 2", "2 2"], THINNER = [0, 2.5, 3.5, 3.5];

export function dialView(picture, { scene, seek }) {
  const arcs = scene.switching.slice(0, MOST_ARCS);
  const inside = OUTER - 4 - arcs.length * (ARC + GAP), zero = inside - RING / 2, disc = inside - RING - 6;
  const tops = { current: 0, light: 0 };
  let frame = null, ghost = null;
  const point = (radius, degrees) => { const a = (degrees * Math.PI) / 180; return [X + radius * Math.sin(a), Y - radius * Math.cos(a)]; };
  const circle = (r, kind) => make("circle", { cx: X, cy: Y, r, class: kind });
  const parts = {
    spans: make("g"), flowIn: make("path", { class: "ring-in", "fill-rule": "evenodd" }), flowOut: make("path", { class: "ring-out", "fill-rule": "evenodd" }),
    light: make("path", { class: "disc-light" }), ghosts: make("g", { class: "ghost" }), cursor: make("line", { class: "cursor" }),
  };
  const scale = make("g");
  for (let degrees = 0; degrees < 360; degrees += 10) {
    const [x1, y1] = point(OUTER, degrees), [x2, y2] = point(OUTER + (degrees % 90 ? 3 : 7), degrees);
    scale.append(make("line", { class: "tick", x1, y1, x2, y2 }));
  }
  for (const [degrees, anchor, dy] of [[0, "middle", -1], [90, "start", 4.5], [180, "middle", 11], [270, "end", 4.5]]) {
    const [x, y] = point(OUTER + 10, degrees);
    scale.append(make("text", { x, y: y + dy, "font-size": SIZE, "text-anchor": anchor }, `${degrees}°`));
  }
  const bow = [14, 20, 26].map((degrees) => point(OUTER + 14, degrees)), [tx, ty] = point(OUTER + 14, 31);
  scale.append(make("path", { class: "way-round", d: `M${bow.map((p) => p.join(",")).join("L")}` }), make("path", { class: "way-tip", d: `M${tx},${ty}L${point(OUTER + 10, 25).join(",")}L${point(OUTER + 18, 25).join(",")}Z` }));
  set(picture, { viewBox: `0 0 ${W} ${Y + OUTER + 26}` });
  picture.replaceChildren(picture.querySelector("title"), circle(OUTER, "edge"), scale, ...arcs.map((_, k) => circle(OUTER - 4 - (k + 0.5) * (ARC + GAP), "rail")), circle(zero, "zero"), ...(scene.lit ? [circle(disc, "rail dashed")] : []), parts.spans, parts.flowIn, parts.flowOut, parts.light, parts.ghosts, parts.cursor);

  const end = () => 1 / scene.frequency;

  function draw() {
    if (!frame) return;
    tops.current = follow(tops.current, largest(frame.current));
    const about = { x: X, y: Y, end: end(), zero, reach: RING / 2 / tops.current };
    parts.flowIn.setAttribute("d", band(frame.time, frame.current, 1, about));
    parts.flowOut.setAttribute("d", band(frame.time, frame.current, -1, about));
    if (scene.lit) {
      const most = largest(frame.light);
      tops.light = follow(tops.light, most);
      parts.light.setAttribute("d", most > 1e-5 ? ring(frame.time, (k) => (Math.max(frame.light[k], 0) / tops.light) * disc, about) : "");
    }
    const shown = frame.spans.filter((one) => one.which < arcs.length && one.from < 360);
    while (parts.spans.childElementCount < shown.length) parts.spans.append(make("path"));
    while (parts.spans.childElementCount > shown.length) parts.spans.lastChild.remove();
    shown.forEach((one, k) => set(parts.spans.children[k], {
      d: arc(X, Y, OUTER - 4 - (one.which + 0.5) * (ARC + GAP), one.from, Math.min(one.to, 360)), class: `arc arc-${arcs[one.which].role}`,
      "stroke-width": ARC - THINNER[one.which], "stroke-dasharray": DASHES[one.which] || null,
    }));
    if (!ghost) parts.ghosts.replaceChildren();
    else {
      if (!parts.ghosts.childElementCount) parts.ghosts.append(make("path", { class: "ring-ghost" }), make("path", { class: "disc-ghost" }));
      const size = (k) => zero + (Math.abs(ghost.current[k]) / tops.current) * (RING / 2);
      parts.ghosts.children[0].setAttribute("d", ring(ghost.time, size, about));
      parts.ghosts.children[1].setAttribute("d", scene.lit ? ring(ghost.time, (k) => (Math.max(ghost.light[k], 0) / tops.light) * disc, about) : "");
    }
  }

  let held = false;
  const sought = (event) => { const [x, y] = spot(picture, event); seek((bearing(x - X, y - Y) + 360) % 360); };
  picture.addEventListener("pointerdown", (event) => { if (event.button === 0) { held = true; picture.setPointerCapture(event.pointerId); sought(event); } });
  picture.addEventListener("pointermove", (event) => { if (held) sought(event); });
  for (const over of ["pointerup", "pointercancel"]) picture.addEventListener(over, () => { held = false; });

  return {
    draw(now) { frame = now; draw(); },
    pin(one) { ghost = one; draw(); },
    point(degrees) { const [x2, y2] = point(OUTER + 7, degrees % 360); set(parts.cursor, { x1: X, y1: Y, x2, y2 }); },
  };
}
