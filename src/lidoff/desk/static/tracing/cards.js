// The doubtful joins on cards, weakest first: one in hand, the next ones below it.
import { cropped } from "./geometry.js";
import { meaning, pedal, TREAD } from "./press.js";
import { aloud, announced, counted, key, question, queue } from "./words.js";

const NEXT = 5;

// `given(join, joined, by)` answers; `shown(join)` is told which is in hand; `undo()` takes the last act back.
export function cards(root, stage, picture, { given, shown, undo }) {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  const card = $("card"), crop = $("crop"), next = $("next"), putOff = new Set();
  let state = null, first = null, busy = false, answered = null;
  const speech = "speechSynthesis" in window && "SpeechSynthesisUtterance" in window ? window.speechSynthesis : null;
  const title = (name) => stage.pad(name)?.title ?? name;

  function show(now) {
    state = now;
    draw();
  }

  function draw() {
    const open = queue(state.questions, putOff), before = first && key(first.a, first.b);
    first = open[0] ?? null;
    card.hidden = !first;
    $("none").hidden = Boolean(first);
    $("left").textContent = first ? counted(open.length, "join in doubt", "joins in doubt") : "";
    next.replaceChildren(...open.slice(1, 1 + NEXT).map(small));
    if (!first) { stage.held.ask = null; press.drop(); shown(null); if (before) speak(announced(answered, null)); return; }
    $("question").textContent = question(title(first.a), title(first.b));
    $("why").textContent = first.why ? `${first.why[0].toUpperCase()}${first.why.slice(1)}.` : "";
    stage.held.ask = first;
    paint(crop, first);
    if (key(first.a, first.b) !== before) { press.drop(); shown(first); ask(); }
  }

  function small(join) {
    const button = document.createElement("button"), view = document.createElement("canvas"), words = document.createElement("span");
    button.type = "button";
    button.className = "tracing-small";
    view.width = 192; view.height = 120;
    words.textContent = `${title(join.a)} – ${title(join.b)}`;
    button.append(view, words);
    button.addEventListener("click", () => { for (const one of state.questions) { if (one === join) break; putOff.add(key(one.a, one.b)); } draw(); card.focus({ preventScroll: true }); });
    paint(view, join);
    return button;
  }

  // A piece of the straightened photo about the weakest point, larger, with both pads ringed.
  function paint(canvas, join) {
    const context = canvas.getContext("2d"), a = stage.pad(join.a), b = stage.pad(join.b);
    const { width, height } = canvas;
    context.clearRect(0, 0, width, height);
    if (!a || !b || !picture.naturalWidth) return;
    const perMm = picture.naturalWidth / (state.board.width + 2 * state.board.margin), margin = state.board.margin;
    // From two and a half to eight times as large as the photo, whatever its scale is.
    const area = cropped([a.x, a.y], [b.x, b.y], join.weakest, { least: crop.width / 8 / perMm, most: crop.width / 2.5 / perMm, aspect: width / height });
    const { x: left, y: top, width: wide, height: high } = area;
    context.imageSmoothingQuality = "high";
    context.drawImage(picture, (left + margin) * perMm, (top + margin) * perMm, wide * perMm, high * perMm, 0, 0, width, height);
    const scale = width / wide, colours = stage.colours();
    const ring = (x, y, radius, dash) => {
      for (const [colour, line] of [["--paper", 5], ["--accent", 2.5]]) {
        context.beginPath();
        context.setLineDash(colour === "--paper" ? [] : dash);
        context.arc((x - left) * scale, (y - top) * scale, radius, 0, 7);
        context.strokeStyle = colours[colour];
        context.lineWidth = line * width / 560;
        context.stroke();
      }
      context.setLineDash([]);
    };
    ring(a.x, a.y, 0.026 * width, []);
    ring(b.x, b.y, 0.026 * width, []);
    if (join.weakest) ring(...join.weakest, 0.05 * width, [0.015 * width, 0.012 * width]);
  }

  async function answer(joined, by) {
    if (!first || busy) return;
    busy = true;
    // The answer that the space key stands for: what is seen, or what the meter says.
    const how = by ?? ($("meter").checked ? "continuity" : "user"), join = first;
    answered = joined;
    if (!(await given(join, joined, how))) speak(document.getElementById("told")?.textContent ?? "");
    answered = null;
    busy = false;
    card.focus({ preventScroll: true });
  }

  const ask = () => first && speak(announced(answered, aloud(title(first.a), title(first.b))));

  // Where the browser can speak, and that is switched on.
  function speak(sentence) {
    if (!speech || !$("voice").checked || !sentence) return;
    speech.cancel();
    const words = new SpeechSynthesisUtterance(sentence);
    words.lang = document.documentElement.lang || "en-GB";
    speech.speak(words);
  }

  const press = pedal({
    yes: () => answer(true, null), no: () => answer(false, null),
    holding: (on) => card.toggleAttribute("data-holding", on),
    now: () => performance.now(), after: (what, time) => setTimeout(what, time), cancel: clearTimeout,
  });

  // Keys are for the question wherever they are pressed, but for fields, and for space and Enter on a button or a photo.
  const elsewhere = (event) => event.ctrlKey || event.metaKey || event.altKey || event.target.closest?.("input:not([type=radio]):not([type=checkbox]), select, textarea, dialog");
  const onControl = (event) => event.target.closest?.("button, a, input, summary, [role=button]") || (event.key === "Enter" && event.target.closest?.("[role=application]"));
  let tread = null; // the key that is down
  document.addEventListener("keydown", (event) => {
    if (elsewhere(event) || (!first && event.key !== "u")) return;
    if (TREAD.has(event.key) && (event.key === "PageDown" || !onControl(event))) { event.preventDefault(); tread = event.key; press.down(event.repeat); return; }
    const it = meaning(event.key);
    if (it) { event.preventDefault(); if (!event.repeat) answer(it.joined, it.by); return; }
    if (event.key === "s" && !event.repeat) { putOff.add(key(first.a, first.b)); draw(); }
    if (event.key === "u" && !event.repeat) undo();
  });
  document.addEventListener("keyup", (event) => { if (event.key === tread) press.up(); });
  addEventListener("blur", () => press.drop());

  root.addEventListener("click", (event) => {
    const button = event.target.closest?.("[data-answer]");
    if (!button) return;
    // A space bar that is pressed next is for the next question, and no second press of this button.
    card.focus({ preventScroll: true });
    answer(button.dataset.answer === "yes", button.dataset.by);
  });
  $("later").addEventListener("click", () => { if (first) { putOff.add(key(first.a, first.b)); draw(); card.focus({ preventScroll: true }); } });
  const toggle = $("voice");
  toggle.closest("label").hidden = !speech;
  toggle.addEventListener("change", () => { if (toggle.checked) ask(); else speech.cancel(); });

  return { show, draw: () => state && draw() };
}
