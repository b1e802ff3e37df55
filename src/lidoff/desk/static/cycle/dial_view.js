// The cycle dial: one mains cycle as a ring, from the top clockwise; see drawing/dial.py, whose form it has. What moves
// as a knob is turned is drawn on a canvas beneath the SVG.
import { held } from "./hand.js";
import { bearing } from "./knob.js";
import { follow } from "./scale.js";
import { sheet } from "./sheet.js";
import { make, set } from "./svg.js";
import { band, largest, ring } from "./waves.js";

const W = 324, X = 162, Y = 152, OUTER = 112, ARC = 8, GAP = 2.5, RING = 36, SIZE = 13, MOST_ARCS = 4;
const HOLD = 56; // width of the ring by which a finger turns it; elsewhere a finger scrolls the page
const DASHES = [[], [], [6, 2], [2, 2]], THINNER = [0, 2.5, 3.5, 3.5];

const PENS = ["ring-in", "ring-out", "disc-light", "ring-ghost", "disc-ghost", "arc-switch", "arc-rectifier", "arc-light"];

export function dialView(picture, canvas, { scene, seek }) {
  const arcs = scene.switching.slice(0, MOST_ARCS);
  const inside = OUTER - 4 - arcs.length * (ARC + GAP), zero = inside - RING / 2, disc = inside - RING - 6;
  const tops = { current: 0, light: 0 };
  let frame = null, ghost = null;
  const point = (radius, degrees) => { const a = (degrees * Math.PI) / 180; return [X + radius * Math.sin(a), Y - radius * Math.cos(a)]; };
  const circle = (r, kind) => make("circle", { cx: X, cy: Y, r, class: kind });
  const cursor = make("line", { class: "cursor" }), curves = sheet(canvas, { pens: PENS, redraw: draw });
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
  picture.replaceChildren(picture.querySelector("title"), curves.samples, circle(OUTER, "edge"), scale, ...arcs.map((_, k) => circle(OUTER - 4 - (k + 0.5) * (ARC + GAP), "rail")), circle(zero, "zero"), ...(scene.lit ? [circle(disc, "rail dashed")] : []), make("circle", { cx: X, cy: Y, r: OUTER - HOLD / 2 + 12, "stroke-width": HOLD, class: "dial-hold" }), cursor);
  curves.look();

  const end = () => 1 / scene.frequency, turn = (degrees) => ((degrees - 90) * Math.PI) / 180;

  function draw() {
    const path = frame && curves.begin(curves.width / W);
    if (!path) return;
    tops.current = follow(tops.current, largest(frame.current));
    const most = scene.lit ? largest(frame.light) : 0, about = { x: X, y: Y, end: end(), zero, reach: RING / 2 / tops.current };
    if (scene.lit) tops.light = follow(tops.light, most);
    const shine = (one) => (k) => (Math.max(one.light[k], 0) / tops.light) * disc;
    for (const { which, from, to } of frame.spans) {
      if (which >= arcs.length || from >= 360) continue;
      path.beginPath();
      path.arc(X, Y, OUTER - 4 - (which + 0.5) * (ARC + GAP), turn(from), turn(Math.min(to, 360)));
      curves.stroke(`arc-${arcs[which].role}`, { wide: ARC - THINNER[which], dashes: DASHES[which] });
    }
    for (const [sign, kind] of [[1, "ring-in"], [-1, "ring-out"]]) {
      path.beginPath();
      band(path, frame.time, frame.current, sign, about);
      curves.fill(kind, "evenodd");
      curves.stroke(kind);
    }
    if (most > 1e-5) {
      path.beginPath();
      ring(path, frame.time, shine(frame), about);
      curves.fill("disc-light");
      curves.stroke("disc-light");
    }
    if (!ghost) return;
    path.beginPath();
    ring(path, ghost.time, (k) => zero + (Math.abs(ghost.current[k]) / tops.current) * (RING / 2), about);
    curves.stroke("ring-ghost");
    if (!scene.lit) return;
    path.beginPath();
    ring(path, ghost.time, shine(ghost), about);
    curves.stroke("disc-ghost");
  }

  const sought = ([x, y]) => seek((bearing(x - X, y - Y) + 360) % 360);
  held(picture, { laid: sought, moved: sought });

  return {
    draw(now) { frame = now; draw(); },
    pin(one) { ghost = one; draw(); },
    point(degrees) { const [x2, y2] = point(OUTER + 7, degrees % 360); set(cursor, { x1: X, y1: Y, x2, y2 }); },
    end() { curves.end(); },
  };
}
