// The waves of one cycle: voltage and current, light, and when parts conduct; drawn to the room there is. What moves as
// a knob is turned is drawn on a canvas, the words and scales above it are an SVG.
import { held } from "./hand.js";
import { follow } from "./scale.js";
import { words } from "./show.js";
import { sheet } from "./sheet.js";
import { make, set, write } from "./svg.js";
import { area, largest, line } from "./waves.js";

const SIZE = 13; // of the words; the picture is drawn in the page's pixels, so that they are as large as the page's
const LEFT = 64, RIGHT = 76, TOP = 30, LIGHT = 64, ROW = 22, MOST_ROWS = 6;
const LEAST = 190, MOST = 300; // height of the lane of voltage and current

const PENS = ["wave-voltage", "wave-current", "wave-light", "wave-mean", "ghost-voltage", "ghost-current", "ghost-light", "span-switch", "span-rectifier", "span-light"];

export function waveView(picture, canvas, { scene, seek }) {
  const tops = { voltage: 0, current: 0, light: 0 };
  let width = 0, larger = 1, frame = null, ghost = null, at = 0, subject = -1, parts = {};
  const rows = scene.switching.slice(0, MOST_ROWS);
  let lightAt = 0, rowsAt = 0, bottom = 0, middle = 0, half = 0, given = 0;
  const inner = () => width - LEFT - RIGHT;
  const text = (x, y, content, more = {}) => make("text", { x, y, "font-size": SIZE, ...more }, content);

  function build() {
    given = Math.round(picture.parentElement.clientWidth);
    // Where the page's own words are larger, so are these.
    larger = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16 || 1;
    width = Math.max(280, Math.round(given / larger));
    const main = Math.min(MOST, Math.max(LEAST, 0.42 * width));
    lightAt = TOP + main + 16;
    rowsAt = scene.lit ? lightAt + LIGHT + 12 : lightAt;
    bottom = rowsAt + rows.length * ROW + (rows.length ? 6 : 0);
    middle = TOP + main / 2;
    half = main / 2 - 4;
    const height = bottom + 42;
    set(picture, { viewBox: `0 0 ${width} ${height}`, width: width * larger, height: height * larger });
    const ends = [LEFT, width - RIGHT];
    parts = {
      axis: make("g"), scales: make("g"), key: make("g"), names: make("g"), none: text(LEFT + 8, lightAt + LIGHT - 8, ""),
      cursor: make("line", { class: "cursor", y1: TOP, y2: bottom + 5 }),
    };
    const zero = make("line", { class: "zero", x1: ends[0], x2: ends[1], y1: middle, y2: middle });
    const floor = scene.lit ? [make("line", { class: "zero", x1: ends[0], x2: ends[1], y1: lightAt + LIGHT, y2: lightAt + LIGHT }), text(LEFT - 8, lightAt + LIGHT / 2 + 5, "light", { "text-anchor": "end" })] : [];
    rows.forEach((row, k) => {
      const y = rowsAt + k * ROW + ROW / 2;
      parts.names.append(text(LEFT - 8, y + 4.5, row.ref.split("/").pop(), { "text-anchor": "end" }), make("line", { class: "rail", x1: ends[0], x2: ends[1], y1: y, y2: y }));
    });
    picture.replaceChildren(picture.querySelector("title"), curves.samples, parts.axis, parts.names, zero, ...floor, parts.none, parts.scales, parts.key, parts.cursor);
    curves.look();
    key();
  }

  function key() {
    const [first, second] = subject < 0 ? ["mains voltage", "input current"] : [`${scene.parts[subject].ref} voltage`, "current"];
    const y = 18, mark = 18, away = LEFT + mark + 6 + first.length * 7 + 16;
    parts.key.replaceChildren(
      make("line", { class: "wave-voltage", x1: LEFT, x2: LEFT + mark, y1: y - 4, y2: y - 4 }), text(LEFT + mark + 6, y, first),
      make("line", { class: "wave-current", x1: away, x2: away + mark, y1: y - 4, y2: y - 4 }), text(away + mark + 6, y, second));
  }

  const LINES = ["wave-voltage", "wave-current"], GHOSTS = ["ghost-voltage", "ghost-current", "ghost-light"];
  const taken = (one) => (subject < 0 ? [one.voltage, one.current] : [one.across(subject), one.through(subject)]);
  const end = () => frame.shown / scene.frequency;
  const place = (zero, rise) => ({ left: LEFT, width: inner(), end: end(), zero, rise });

  function draw() {
    if (!frame || !width) return;
    const [voltage, current] = taken(frame), most = scene.lit ? largest(frame.light) : 0, lit = most > 1e-5;
    tops.voltage = follow(tops.voltage, largest(voltage));
    tops.current = follow(tops.current, largest(current));
    tops.light = follow(tops.light, most);
    const path = curves.begin(larger);
    if (path) {
      spans(path);
      if (ghost) waves(path, ghost, GHOSTS);
      if (lit) light(path);
      waves(path, frame, LINES);
    }
    write(parts.none, scene.lit && !lit ? "no light" : "");
    scales();
    axis();
    cursor();
  }

  function waves(path, one, pens) {
    const [voltage, current] = taken(one);
    const all = [[voltage, middle, half / tops.voltage], [current, middle, half / tops.current]];
    if (pens === GHOSTS && scene.lit) all.push([one.light, lightAt + LIGHT, (LIGHT - 4) / tops.light]);
    all.forEach(([wave, zero, rise], k) => {
      path.beginPath();
      line(path, one.time, wave, place(zero, rise));
      curves.stroke(pens[k]);
    });
  }

  function light(path) {
    const rise = (LIGHT - 4) / tops.light, zero = lightAt + LIGHT;
    path.beginPath();
    area(path, frame.time, frame.light, place(zero, rise));
    curves.fill("wave-light");
    curves.stroke("wave-light");
    let sum = 0;
    for (let k = 1; k < frame.points; k++) sum += ((frame.light[k] + frame.light[k - 1]) / 2) * (frame.time[k] - frame.time[k - 1]);
    const mean = zero - (sum / end()) * rise;
    path.beginPath();
    path.moveTo(LEFT, mean);
    path.lineTo(width - RIGHT, mean);
    curves.stroke("wave-mean");
  }

  function spans(path) {
    const span = 360 * frame.shown;
    for (const { which, from, to } of frame.spans) {
      if (which >= rows.length) continue;
      path.beginPath();
      path.roundRect(LEFT + (from / span) * inner(), rowsAt + which * ROW + 3.5, Math.max(2, ((to - from) / span) * inner()), ROW - 7, 2);
      curves.fill(`span-${rows[which].role}`);
      curves.stroke(`span-${rows[which].role}`);
    }
  }

  let scaled = "";
  function scales() {
    const now = `${tops.voltage} ${tops.current} ${width}`;
    if (scaled === now) return;
    scaled = now;
    const marks = [];
    for (const [top, unit, x, anchor, out, kind] of [[tops.voltage, "V", LEFT, "end", -1, "v"], [tops.current, "A", width - RIGHT, "start", 1, "c"]]) {
      const share = 0.5; // half the scale stands in the middle of each side: a round number as well
      for (const [level, content] of [[share, words(top * share, unit, 2)], [0, "0"], [-share, `−${words(top * share, unit, 2)}`]]) {
        const y = middle - level * half;
        marks.push(make("line", { class: `tick tick-${kind}`, x1: x, x2: x + 5 * out, y1: y, y2: y }), text(x + 8 * out, y + 4.5, content, { "text-anchor": anchor }));
      }
      marks.push(make("line", { class: `edge tick-${kind}`, x1: x, x2: x, y1: middle - half, y2: middle + half }));
    }
    parts.scales.replaceChildren(...marks);
  }

  let ruled = "";
  function axis() {
    const now = `${frame.shown} ${width}`;
    if (ruled === now) return;
    ruled = now;
    const count = frame.shown === 1 ? 4 : frame.shown === 2 ? 4 : frame.shown, span = 360 * frame.shown, marks = [];
    for (let k = 0; k <= count; k++) {
      const x = LEFT + (k / count) * inner(), degrees = (k / count) * span;
      marks.push(make("line", { class: "grid-line", x1: x, x2: x, y1: TOP, y2: bottom + 5 }), text(x, bottom + 20, `${degrees}°`, { "text-anchor": "middle" }));
      const ms = (degrees / 360 / scene.frequency) * 1000;
      marks.push(text(x, bottom + 36, `${Number(ms.toPrecision(3))}${k === count ? " ms" : ""}`, { "text-anchor": "middle", class: "soft-text" }));
    }
    parts.axis.replaceChildren(...marks);
  }

  function cursor() {
    const x = LEFT + (at / (360 * (frame?.shown ?? 1))) * inner();
    set(parts.cursor, { x1: x, x2: x });
  }

  const sought = ([x]) => seek(Math.min(1, Math.max(0, (x - LEFT) / inner())) * 360 * (frame?.shown ?? 1));
  held(picture, { laid: sought, moved: sought });

  const watch = new ResizeObserver(() => { if (Math.round(picture.parentElement.clientWidth) !== given) { scaled = ruled = ""; build(); draw(); } });
  watch.observe(picture.parentElement);
  const curves = sheet(canvas, { pens: PENS, redraw: draw });
  build();
  return {
    draw(now) { frame = now; draw(); },
    pin(one) { ghost = one; draw(); },
    point(degrees) { at = degrees; cursor(); },
    // Whose voltage and current are drawn: a part, or -1 for the input.
    of(part) { subject = part; tops.voltage = tops.current = 0; key(); draw(); },
    end() { watch.disconnect(); curves.end(); },
  };
}
