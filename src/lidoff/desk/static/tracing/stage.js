// The photo with what is on it: pictures moved by the browser, everything else drawn on a canvas over them.
import * as geometry from "./geometry.js";
import { key } from "./words.js";

const LINES = {
  accepted: { colour: "--lidoff-current", width: 2.4, dash: [] },
  doubtful: { colour: "--accent", width: 2.4, dash: [7, 5] },
  "answered-yes": { colour: "--lidoff-rectifier", width: 4.2, dash: [] },
  "answered-no": { colour: "--accent", width: 2, dash: [1, 6] },
};
const LABELS_FROM = 7; // px per mm
const MOST_LABELS = 120;

export function stage(place, canvas, pictures) {
  const context = canvas.getContext("2d");
  const held = { view: { scale: 1, x: 0, y: 0 }, size: [1, 1], state: null, lines: [], paths: new Map(), drawn: {}, chosen: null, draft: null, ask: null, cross: false };
  let waiting = false, colours = {}, follow = true;

  const readColours = () => {
    colours = Object.fromEntries(["--ink", "--paper", "--accent", "--soft", "--lidoff-current", "--lidoff-rectifier", "--lidoff-down"].map((name) => {
      // A custom property comes as it is written; a canvas wants the colour that follows from it.
      canvas.style.color = `var(${name})`;
      return [name, getComputedStyle(canvas).color];
    }));
    canvas.style.color = "";
  };

  function resize() {
    const ratio = Math.min(2, devicePixelRatio || 1), { clientWidth: width, clientHeight: height } = place, before = held.size;
    if (!width || (width === before[0] && height === before[1])) return;
    held.size = [width, height];
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    readColours();
    if (held.state?.board && follow) held.view = geometry.fitted(held.state.board, held.size);
    else held.view = geometry.moved(held.view, (width - before[0]) / 2, (height - before[1]) / 2);
    draw();
  }
  new ResizeObserver(resize).observe(place);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { readColours(); draw(); });
  new MutationObserver(() => { readColours(); draw(); }).observe(document.documentElement, { attributes: true, attributeFilter: ["data-scheme"] });

  // Once for each frame, however often it is asked for.
  function draw() {
    if (waiting) return;
    waiting = true;
    requestAnimationFrame(() => { waiting = false; paint(); });
  }

  function paint() {
    const { view, state } = held, ratio = canvas.width / Math.max(1, held.size[0]);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, held.size[0], held.size[1]);
    if (!state?.board) return;
    const { width, margin } = state.board, long = width + 2 * margin;
    for (const one of pictures) {
      if (!one.naturalWidth) continue;
      one.style.transform = `translate(${view.x - margin * view.scale}px, ${view.y - margin * view.scale}px) scale(${view.scale * long / one.naturalWidth})`;
    }
    context.setTransform(ratio * view.scale, 0, 0, ratio * view.scale, ratio * view.x, ratio * view.y);
    const px = 1 / view.scale;
    context.lineJoin = context.lineCap = "round";
    boxes(px);
    for (const [status, look] of Object.entries(LINES)) stroke(held.drawn[status], look, px);
    stroke(held.drawn.wire, { colour: "--lidoff-down", width: 3, dash: [9, 4, 2, 4] }, px);
    holes(px);
    pads(px);
    asked(px);
    chosen(px);
    draft(px);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    if (view.scale >= LABELS_FROM) labels();
    if (held.cross) cross();
  }

  function stroke(path, { colour, width, dash }, px) {
    if (!path) return;
    context.setLineDash([]);
    context.strokeStyle = colours["--paper"];
    context.globalAlpha = 0.75;
    context.lineWidth = (width + 2.6) * px;
    context.stroke(path);
    context.globalAlpha = 1;
    context.strokeStyle = colours[colour];
    context.lineWidth = width * px;
    context.setLineDash(dash.map((one) => one * px));
    context.stroke(path);
    context.setLineDash([]);
  }

  function ring(x, y, radius, colour, width, px, dash = []) {
    context.setLineDash(dash.map((one) => one * px));
    context.beginPath();
    context.arc(x, y, radius, 0, 7);
    context.strokeStyle = colours["--paper"];
    context.lineWidth = (width + 2) * px;
    context.stroke();
    context.strokeStyle = colours[colour];
    context.lineWidth = width * px;
    context.stroke();
    context.setLineDash([]);
  }

  const padRadius = (px) => Math.max(4 * px, Math.min(0.7, 9 * px));

  function pads(px) {
    const radius = padRadius(px), named = new Path2D(), bare = new Path2D(), unsure = new Path2D();
    for (const one of held.state.pads) {
      const path = one.unsure ? unsure : one.pin || one.node ? named : bare;
      path.moveTo(one.x + radius, one.y);
      path.arc(one.x, one.y, radius, 0, 7);
    }
    for (const [path, fill, dash] of [[named, "--ink", []], [bare, "--paper", []], [unsure, "--paper", [2, 2]]]) {
      context.setLineDash([]);
      context.strokeStyle = colours["--paper"];
      context.lineWidth = 4 * px;
      context.stroke(path);
      context.fillStyle = colours[fill];
      context.fill(path);
      context.setLineDash(dash.map((one) => one * px));
      context.strokeStyle = colours["--ink"];
      context.lineWidth = 1.6 * px;
      context.stroke(path);
    }
    context.setLineDash([]);
  }

  function holes(px) {
    const path = new Path2D(), arm = 3 * px;
    for (const { x, y, diameter } of held.state.holes) {
      const radius = Math.max(diameter / 2, 2 * px);
      path.moveTo(x + radius, y);
      path.arc(x, y, radius, 0, 7);
      path.moveTo(x - radius - arm, y); path.lineTo(x - radius, y);
      path.moveTo(x + radius, y); path.lineTo(x + radius + arm, y);
    }
    stroke(path, { colour: "--soft", width: 1.2, dash: [] }, px);
  }

  function boxes(px) {
    const path = new Path2D();
    for (const { x, y, width, height } of held.state.bodies) path.rect(x, y, width, height);
    context.fillStyle = colours["--paper"];
    context.globalAlpha = 0.28;
    context.fill(path);
    context.globalAlpha = 1;
    stroke(path, { colour: "--ink", width: 1.3, dash: [3, 3] }, px);
  }

  function asked(px) {
    const join = held.ask;
    if (!join) return;
    for (const name of [join.a, join.b]) { const one = pad(name); if (one) ring(one.x, one.y, padRadius(px) + 5 * px, "--accent", 3, px); }
    if (join.weakest) ring(join.weakest[0], join.weakest[1], 13 * px, "--accent", 2, px, [4, 4]);
  }

  function chosen(px) {
    const it = held.chosen;
    if (!it) return;
    if (it.what === "pad") { const one = held.state.pads[it.which]; if (one) ring(one.x, one.y, padRadius(px) + 6 * px, "--accent", 3, px); }
    if (it.what === "hole") { const one = held.state.holes[it.which]; if (one) ring(one.x, one.y, one.diameter / 2 + 5 * px, "--accent", 3, px); }
    if (it.what === "body") { const one = held.state.bodies[it.which]; if (one) { const path = new Path2D(); path.rect(one.x, one.y, one.width, one.height); stroke(path, { colour: "--accent", width: 3, dash: [] }, px); } }
    if (it.what === "join") { const line = held.lines[it.which]; if (line) stroke(drawnLine([line]), { colour: "--accent", width: 6, dash: [] }, px); }
    if (it.what === "wire") { const one = held.state.wires[it.which]; if (one && pad(one.a) && pad(one.b)) stroke(wires([one]), { colour: "--accent", width: 6, dash: [] }, px); }
  }

  function draft(px) {
    const it = held.draft;
    if (!it) return;
    if (it.box) { const path = new Path2D(); path.rect(it.box.x, it.box.y, it.box.width, it.box.height); stroke(path, { colour: "--accent", width: 2, dash: [5, 4] }, px); }
    if (it.line) stroke(drawnLine([it.line]), { colour: "--accent", width: 3.4, dash: [10, 4] }, px);
    for (const [x, y] of it.points ?? []) ring(x, y, 7 * px, "--accent", 3, px);
  }

  function labels() {
    context.font = "600 12px system-ui, sans-serif";
    context.textBaseline = "middle";
    const places = [], texts = [];
    let first = -1;
    for (const [number, one] of held.state.pads.entries()) {
      const [x, y] = geometry.toScreen(held.view, [one.x, one.y]);
      if (x < -40 || y < -10 || x > held.size[0] + 40 || y > held.size[1] + 10) continue;
      if (held.chosen?.what === "pad" && held.chosen.which === number) first = places.length;
      places.push([x, y]);
      texts.push(one.on && held.view.scale > 14 ? `${one.title}  ${one.on}` : one.title);
      if (places.length > MOST_LABELS) return;
    }
    const sizes = texts.map((text) => [context.measureText(text).width + 6, 16]);
    geometry.labelled(places, sizes, first).forEach((at, number) => {
      if (!at) return;
      context.fillStyle = colours["--paper"];
      context.globalAlpha = 0.85;
      context.fillRect(at[0], at[1], ...sizes[number]);
      context.globalAlpha = 1;
      context.fillStyle = colours["--ink"];
      context.fillText(texts[number], at[0] + 3, at[1] + 8.5);
    });
  }

  function cross() {
    const [x, y] = held.size.map((one) => one / 2);
    for (const [colour, width] of [["--paper", 4], ["--accent", 1.6]]) {
      context.strokeStyle = colours[colour];
      context.lineWidth = width;
      context.beginPath();
      context.moveTo(x - 14, y); context.lineTo(x - 3, y); context.moveTo(x + 3, y); context.lineTo(x + 14, y);
      context.moveTo(x, y - 14); context.lineTo(x, y - 3); context.moveTo(x, y + 3); context.lineTo(x, y + 14);
      context.stroke();
    }
  }

  const pad = (name) => held.byName.get(name);

  function drawnLine(lines) {
    const path = new Path2D();
    for (const line of lines) line.forEach(([x, y], number) => (number ? path.lineTo(x, y) : path.moveTo(x, y)));
    return path;
  }

  function wires(all) {
    const path = new Path2D();
    for (const one of all) {
      const a = pad(one.a), b = pad(one.b);
      if (!a || !b) continue;
      const [from, through, to] = geometry.bow([a.x, a.y], [b.x, b.y]);
      path.moveTo(...from);
      path.quadraticCurveTo(...through, ...to);
    }
    return path;
  }

  // The lines of all joins, put together once for each state: a frame then draws one path for each kind of line.
  function build() {
    held.byName = new Map(held.state.pads.map((one) => [one.id, one]));
    const groups = {};
    held.lines = held.state.joins.map((join) => {
      const line = lineOf(join);
      (groups[join.status] ??= []).push(line);
      return line;
    });
    held.drawn = Object.fromEntries(Object.entries(groups).map(([status, lines]) => [status, drawnLine(lines)]));
    held.drawn.wire = held.state.wires.length ? wires(held.state.wires) : null;
  }

  // Along the copper where that is known, else straight by the weakest point.
  function lineOf(join) {
    const a = pad(join.a), b = pad(join.b);
    if (!a || !b) return [];
    const known = held.paths.get(key(join.a, join.b));
    if (known && join.status !== "answered-no") return known;
    const ends = [[a.x, a.y], [b.x, b.y]];
    if (join.weakest && join.status !== "answered-no") ends.splice(1, 0, join.weakest);
    return ends;
  }

  return {
    held, draw, lineOf, pad, resize,
    show(state) {
      const first = !held.state?.board && state.board;
      held.state = state;
      build();
      if (first) held.view = geometry.fitted(state.board, held.size);
      draw();
    },
    ways(list) { held.paths = new Map(list.map((one) => [key(one.a, one.b), one.points])); if (held.state) { build(); draw(); } },
    look(view) { follow = false; held.view = view; draw(); },
    whole() { follow = true; if (held.state?.board) held.view = geometry.fitted(held.state.board, held.size); draw(); },
    limits: () => geometry.limits(held.state.board, held.size),
    colours: () => colours,
  };
}
