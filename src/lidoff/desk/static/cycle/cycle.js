// The cycle page: one scene at a time, the newest frame drawn as soon as it comes, the cursor moved without asking.
import { notice, say } from "../ask.js";
import { changed } from "../changes.js";
import { post } from "../edit.js";
import { compareView, figuresView } from "./figures_view.js";
import { decode } from "./frame.js";
import { clock, shareOf } from "./knob.js";
import { drawKnob } from "./knob_view.js";
import { newest } from "./link.js";
import { paced } from "./pace.js";
import { dialView } from "./dial_view.js";
import { partsView } from "./parts_view.js";
import { schematicView } from "./schematic_view.js";
import { words } from "./show.js";
import { store } from "./store.js";
import { make, put, write } from "./svg.js";
import { waveView } from "./wave_view.js";

const ROUND = 12; // [s] in which one cycle is played
const LOST = "The desk does not answer: is it still running in the terminal? The pictures stand still until it is back.";
const get = (id) => document.getElementById(id);
const el = (name, kind = "", content = "") => { const node = document.createElement(name); if (kind) node.className = kind; node.textContent = content; return node; };

let root = null, socket = null, wait = 500;
let scene = null, frame = null, pinned = null, views = null, degrees = 90, playing = 0, quiet = false, wished = null;
const recorded = new Map();
const values = store((name) => recorded.get(name));
const link = newest((question) => { if (socket?.readyState === WebSocket.OPEN) socket.send(JSON.stringify(question)); });

// `data-asked` and `data-shown` tell what was asked last and what the pictures show.
const asked = (question) => { root.dataset.asked = String(link.ask({ ...question, values: values.all() })); };
const pictures = paced(drawn);
const ask = (how = "set") => asked({ do: how });
const open = (state) => asked({ do: "open", state });
const instant = () => (frame.direct ? 0 : degrees / 360 / scene.frequency);

// The scene --------------------------------------------------------------------------------------------------------

function begin(told) {
  const same = scene && scene.state === told.state;
  pictures.drop();
  scene = told;
  lacks(null);
  recorded.clear();
  for (const one of scene.knobs) recorded.set(`${one.ref}.position`, one.position);
  for (const one of scene.switches) recorded.set(`${one.ref}.closed`, one.closed);
  for (const owner of [...scene.parts, ...scene.blocks]) for (const one of owner.tries) recorded.set(one.name, one.text);
  if (scene.supply.dc === undefined) recorded.set("supply.voltage", scene.supply.voltage); else recorded.set("supply.dc", scene.supply.text);
  if (same) values.keepOnly((name) => recorded.has(name)); else values.clear();
  if (pinned && pinned.shape !== shape(scene)) pinned = null;
  frame = null;
  views?.wave?.end();
  views?.dial?.end();
  views?.parts.end();
  states(scene.states, scene.state);
  for (const id of ["cycle-wave", "cycle-dial", "cycle-cursor"]) get(id).closest("figure, .cycle-cursor").hidden = scene.direct;
  get("cycle-picture").classList.toggle("direct", scene.direct);
  views = {
    figures: figuresView(get("cycle-figures"), scene),
    compare: compareView(get("cycle-compared"), get("cycle-compared-table"), scene),
    parts: partsView(get("cycle-table"), get("cycle-other"), { scene, work }),
    wave: scene.direct ? null : waveView(get("cycle-wave"), get("cycle-wave-curves"), { scene, seek }),
    dial: scene.direct ? null : dialView(get("cycle-dial"), get("cycle-dial-curves"), { scene, seek }),
    schematic: scene.picture ? schematicView(get("cycle-schematic"), { scene, work }) : null,
    knobs: new Map(),
  };
  if (!scene.picture) get("cycle-schematic").replaceChildren(el("p", "problem", scene.undrawn));
  controls();
  supply();
  const assumed = get("cycle-assumed");
  assumed.hidden = !scene.assumed.length;
  assumed.querySelector("summary").textContent = `${scene.assumed.length} assumed here`;
  assumed.querySelector("ul").replaceChildren(...scene.assumed.map((one) => el("li", "", one)));
  get("cycle-keep").hidden = scene.direct || !(scene.knobs.length || scene.switches.length);
  if (pinned) { views.wave?.pin(pinned.frame); views.dial?.pin(pinned.frame); }
  listed = null;
  tried();
}

// Frames of the same shape can be laid over each other.
const shape = (one) => JSON.stringify([one.direct, one.frequency, one.figures.map((figure) => figure.key), one.parts.map((part) => part.ref), one.pins]);

function states(names, now) {
  const select = get("cycle-state");
  const none = names.length ? [] : [el("option", "", "as recorded")];
  select.replaceChildren(...none, ...names.map((name) => { const option = el("option", "", name); option.value = name; return option; }));
  if (now !== null && now !== undefined) select.value = now;
  select.disabled = !names.length;
}

// Controls ---------------------------------------------------------------------------------------------------------

const work = {
  knob(ref, position) {
    // The knob under the hand shows itself; its twin and its words follow with the picture.
    values.set(`${ref}.position`, position);
    ask();
  },
  toggle(ref) {
    values.set(`${ref}.closed`, !values.get(`${ref}.closed`));
    switches();
    ask();
  },
  pick(ref) {
    const again = work.picked === ref;
    work.picked = again ? null : ref;
    views.wave?.of(again ? -1 : scene.parts.findIndex((part) => part.ref === ref));
    views.parts.pick(work.picked);
    views.schematic?.pick(work.picked);
  },
  picked: null,
  attempt(name, text, sure) {
    const before = values.has(name) ? values.get(name) : "";
    views.parts.refuse(name, "");
    if (text === before) return;
    quiet = !sure;
    values.set(name, text);
    ask();
    tried();
  },
  // How many of a part there are: those of its block.
  members: (part) => (part.block ? Number(values.get(`${part.block}.repeat`)) * Number(values.get(`${part.block}.parallel`)) : 1),
  textOf: (name) => (values.has(name) ? values.get(name) : null),
};

function controls() {
  const place = get("cycle-knobs");
  place.replaceChildren();
  for (const knob of scene.knobs) {
    const box = el("div", "cycle-knob"), picture = make("svg", { viewBox: "0 0 104 100", class: "knob-picture" }), group = make("g");
    const where = el("span", "knob-where");
    picture.append(group);
    const position = values.get(`${knob.ref}.position`);
    const drawn = drawKnob(group, { x: 52, y: 50, radius: 32, knob: { ...knob, position }, label: `Knob ${knob.ref}`, moved: (to) => work.knob(knob.ref, to) });
    views.knobs.set(knob.ref, (to) => { drawn.show(to); write(where, clock(shareOf(to, knob.clockwise))); });
    const name = el("span", "knob-name", `${knob.ref} `);
    name.append(el("span", "soft", knob.words));
    box.append(picture, name, where);
    if (!knob.told) box.append(el("span", "soft knob-untold", "which end is clockwise is not recorded"));
    place.append(box);
  }
  for (const one of scene.switches) {
    const button = el("button", "cycle-switch");
    button.type = "button";
    button.setAttribute("role", "switch");
    button.setAttribute("aria-label", `${one.ref} closed`);
    button.dataset.switch = one.ref;
    button.addEventListener("click", () => work.toggle(one.ref));
    button.append(el("span", "switch-name", one.ref), el("span", "switch-ends"));
    place.append(button);
  }
  place.hidden = !place.childElementCount;
  knobs();
  switches();
}

// Every knob as it was turned last: those on the schematic and those beside it.
function knobs() {
  for (const [ref, show] of views.knobs) {
    const position = values.get(`${ref}.position`);
    show(position);
    views.schematic?.knob(ref, position);
  }
}

function switches() {
  for (const one of scene.switches) {
    const closed = values.get(`${one.ref}.closed`), button = get("cycle-knobs").querySelector(`[data-switch="${CSS.escape(one.ref)}"]`);
    button.setAttribute("aria-checked", String(closed));
    button.querySelector(".switch-ends").textContent = closed ? "closed" : "open";
    views.schematic?.toggle(one.ref, closed);
  }
}

function supply() {
  const place = get("cycle-supply"), { voltage, low, high, measured, assumed } = scene.supply;
  place.replaceChildren();
  if (scene.supply.dc !== undefined) return;
  const label = el("label", "", "Mains "), shown = el("output"), slider = el("input");
  Object.assign(slider, { type: "range", id: "cycle-volts", min: String(low), max: String(high), step: "1" });
  slider.value = String(Math.round(values.get("supply.voltage")));
  label.htmlFor = slider.id;
  label.append(shown);
  const show = () => {
    const now = values.get("supply.voltage");
    shown.textContent = words(now, "V");
    slider.setAttribute("aria-valuetext", `${words(now, "V")}, ${Number(slider.value) === Math.round(voltage) ? "as recorded" : `recorded ${words(voltage, "V")}`}`);
  };
  slider.addEventListener("input", () => {
    const now = Number(slider.value);
    values.set("supply.voltage", now === Math.round(voltage) ? voltage : now);
    views.schematic?.mains(values.has("supply.voltage") ? words(now, "V") : null);
    show();
    ask();
  });
  views.schematic?.mains(values.has("supply.voltage") ? words(values.get("supply.voltage"), "V") : null);
  place.append(label, slider, el("p", "hint", `${words(low, "V")} to ${words(high, "V")}; ${measured ? "measured" : assumed ? "assumed" : "recorded"}: ${words(voltage, "V")}`));
  show();
}

// What is tried -----------------------------------------------------------------------------------------------------

let listed = null; // what the list of tried values shows
function tried() {
  const place = get("cycle-tried"), all = values.tried(), now = JSON.stringify(all.map(([name, text]) => [name, text, recorded.get(name)]));
  views.parts.mark(values.has);
  // A field that is left for a button of this list must not take the button away under the hand.
  if (now === listed) return;
  listed = now;
  for (const part of scene.parts) views.schematic?.tried(part.ref, part.tries.map((one) => ({ ...one, now: values.has(one.name) ? values.get(one.name) : null })));
  for (const block of scene.blocks) {
    const [series, rows] = block.tries.map((one) => values.get(one.name)), other = block.tries.some((one) => values.has(one.name));
    views.schematic?.counted(block, other ? `${block.name} × ${series}${Number(rows) === 1 ? "" : ` × ${rows}`}` : null, Number(rows) / Number(recorded.get(block.tries[1].name)) || 1);
  }
  place.hidden = !all.length;
  if (!all.length) { place.replaceChildren(); return; }
  const list = el("ul");
  for (const [name, text] of all) {
    const line = el("li"), keep = el("button", "", "Keep"), drop = el("button", "plain", "Drop");
    for (const [button, act] of [[keep, () => keepThem({ [name]: text })], [drop, () => dropThem([name])]]) { button.type = "button"; button.addEventListener("click", act); }
    keep.setAttribute("aria-label", `Keep ${name.replace(".", " ")} ${text}`);
    drop.setAttribute("aria-label", `Drop ${name.replace(".", " ")} ${text}`);
    line.append(`${name.replace(".", " ").replaceAll("_", " ")}: `, el("s", "", recorded.get(name)), " ", el("strong", "", text), " ", keep, drop);
    list.append(line);
  }
  const title = el("p", "tried-title", "Tried, not in the record:");
  place.replaceChildren(title, list);
  if (all.length > 1) {
    const keep = el("button", "", "Keep all"), drop = el("button", "plain", "Drop all");
    keep.type = drop.type = "button";
    keep.addEventListener("click", () => keepThem(Object.fromEntries(all)));
    drop.addEventListener("click", () => dropThem(all.map(([name]) => name)));
    place.append(keep, drop);
  }
}

function dropThem(names) {
  for (const name of names) { values.drop(name); views.parts.reset(name); views.parts.refuse(name, ""); }
  ask();
  tried();
}

async function keepThem(some) {
  const answer = await post("cycle/keep", { state: scene.state, values: some }, true);
  if (answer.ok) say(`Written into the record: ${Object.entries(some).map(([name, text]) => `${name.replace(".", " ")} ${text}`).join(", ")}. Undo takes it back.`);
}

// Frames ------------------------------------------------------------------------------------------------------------

function drawn(buffer) {
  frame = decode(buffer, { figures: scene.figures.length, parts: scene.parts.length, pins: scene.pins });
  const t = instant();
  views.wave?.draw(frame);
  views.dial?.draw(frame);
  views.schematic?.draw(frame, t);
  views.figures.draw(frame, pinned?.frame);
  views.parts.draw(frame, t);
  views.compare.draw(frame, pinned?.frame, pinned?.label);
  knobs();
  get("cycle-picture").classList.remove("stale");
  const [first, ...more] = frame.sentences;
  tell(first ?? (frame.settled ? "" : "This cycle has not settled: the figures are of the last cycles that were followed."), more);
  write(get("cycle-way"), scene.direct ? "On a bench supply of dc nothing comes and goes: there is no cycle, only where it comes to rest."
    : frame.carried ? "Carried along, as if turned while it runs." : "Started from rest, as if just switched on.");
  cursor();
  root.dataset.shown = String(frame.tag);
}

function tell(sentence, more = []) {
  write(get("cycle-told"), [sentence, ...more].filter(Boolean).join(" "));
}

function refused({ tag, refused: sentence, at, states: others, missing: gaps }) {
  if (at && scene) {
    // Typed and not to be read: the rest goes on without it. While it is being typed nobody is told off.
    values.drop(at);
    if (!quiet && !views.parts.refuse(at, sentence.replace(`${at}: `, ""))) tell(sentence);
    tried();
    root.dataset.shown = String(tag);
    return;
  }
  if (others) {
    states(others, wished);
    get("cycle-way").textContent = "";
    lacks(gaps);
  }
  get("cycle-picture").classList.add("stale");
  if (views) knobs();
  tell(sentence);
  root.dataset.shown = String(tag);
}

// What an item still needs before anything can be solved; null where it is solved.
function lacks(gaps) {
  const place = get("cycle-lacks");
  place.hidden = !gaps;
  get("cycle-solved").hidden = Boolean(gaps);
  for (const id of ["cycle-knobs", "cycle-supply", "cycle-rest", "cycle-pin"]) get(id).hidden = Boolean(gaps) || (id === "cycle-knobs" && !get(id).childElementCount);
  place.querySelector("ul").replaceChildren(...(gaps ?? []).map((one) => el("li", "", one)));
}

// The cursor --------------------------------------------------------------------------------------------------------

const sought = paced(() => {
  if (!frame || frame.direct) return;
  cursor();
  const t = instant();
  views.schematic?.at(t);
  views.parts.at(frame, t);
});

function seek(to) {
  if (!frame || frame.direct) return;
  degrees = Math.min(Math.max(to, 0), 360 * frame.shown - 1e-6);
  sought.come(true);
}

function cursor() {
  if (frame.direct) { reading(); return; }
  const slider = get("cycle-at"), span = 360 * frame.shown;
  put(slider, "max", String(span - 1));
  if (slider.value !== String(Math.round(degrees))) slider.value = String(Math.round(degrees));
  const text = `${Math.round(degrees)}°, ${(instant() * 1000).toFixed(1)} ms`;
  write(get("cycle-at-shown"), text);
  put(slider, "aria-valuetext", text);
  views.wave?.point(degrees);
  views.dial?.point(degrees);
  reading();
}

function reading() {
  const text = views.schematic ? `The thickest line carries ${words(views.schematic.most, "A", 2)} or more; thin and pale, less than a hundredth of that. Arrows show which way.` : "";
  const way = scene.knobs.length && !frame.direct ? " Knobs, switches and the mains voltage act on the running circuit, so a dimmer may come on later than it goes off; another value starts from rest." : "";
  const some = frame.shown < frame.cycles ? `${frame.shown} of them are drawn` : "all are drawn";
  const more = frame.direct || frame.cycles === 1 ? "" : ` ${frame.settled ? `It repeats only after ${frame.cycles} cycles` : `The figures are of ${frame.cycles} cycles`}; ${some}, the dial has the first.`;
  write(get("cycle-reading"), text + more + way);
}

function play(on) {
  const button = get("cycle-play");
  button.setAttribute("aria-pressed", String(on));
  button.textContent = on ? "Stop" : "Play slowly";
  cancelAnimationFrame(playing);
  playing = 0;
  if (!on) return;
  let last = performance.now();
  const step = (now) => {
    if (frame && !frame.direct) seek((degrees + (360 * (now - last)) / 1000 / ROUND) % (360 * frame.shown));
    last = now;
    playing = requestAnimationFrame(step);
  };
  playing = requestAnimationFrame(step);
}

// Pinning -----------------------------------------------------------------------------------------------------------

function pin() {
  pinned = pinned ? null : frame && { frame, shape: shape(scene), label: labelled() };
  const button = get("cycle-pin");
  button.setAttribute("aria-pressed", String(Boolean(pinned)));
  button.textContent = pinned ? "Unpin" : "Pin this, to compare";
  views.wave?.pin(pinned?.frame ?? null);
  views.dial?.pin(pinned?.frame ?? null);
  if (frame) { views.figures.draw(frame, pinned?.frame); views.compare.draw(frame, pinned?.frame, pinned?.label); }
}

// What was set when it was pinned, in words.
function labelled() {
  const found = [scene.state ?? "as recorded"];
  for (const knob of scene.knobs) found.push(`${knob.ref} at ${clock(shareOf(values.get(`${knob.ref}.position`), knob.clockwise))}`);
  for (const one of scene.switches) found.push(`${one.ref} ${values.get(`${one.ref}.closed`) ? "closed" : "open"}`);
  if (values.has("supply.voltage")) found.push(words(values.get("supply.voltage"), "V"));
  for (const [name, text] of values.tried()) found.push(`${name.replace(".", " ")} ${text}`);
  return found.join(", ");
}

// The connection ----------------------------------------------------------------------------------------------------

function connect() {
  const address = new URL(root.dataset.live, location.href);
  address.protocol = "ws:";
  const own = new WebSocket(address);
  socket = own;
  own.binaryType = "arraybuffer";
  own.addEventListener("open", () => { notice(""); link.forget(); open(wished ?? scene?.state ?? null); });
  own.addEventListener("message", (event) => {
    if (event.data instanceof ArrayBuffer) {
      const tag = new Int32Array(event.data, 0, 1)[0];
      wait = 500; // not as soon as it is connected: what ended the last one may end this one
      link.answered(tag); // the next question goes out before this answer is drawn: both are worked at in the meantime
      if (scene) pictures.come(event.data);
      return;
    }
    const told = JSON.parse(event.data);
    if (told.scene) { wished = null; begin(told.scene); }
    else if (told.changed) { changed(told.changed).then(() => { if (!root?.isConnected) start(); else if (told.changed.revision !== scene?.revision) open(wished ?? scene?.state ?? null); }); }
    else { refused(told); link.answered(told.tag); }
  });
  own.addEventListener("close", () => {
    if (socket !== own) return;
    notice(LOST);
    setTimeout(() => { if (socket === own) connect(); }, wait);
    wait = Math.min(8000, wait * 2);
  });
}

function start() {
  const found = get("cycle");
  if (!found || found === root) return;
  root = found;
  play(false);
  get("cycle-state").addEventListener("change", (event) => { values.clear(); work.picked = null; wished = event.target.value; open(wished); });
  get("cycle-rest").addEventListener("click", () => { ask("rest"); });
  get("cycle-pin").addEventListener("click", pin);
  get("cycle-play").addEventListener("click", () => play(!playing));
  get("cycle-at").addEventListener("input", (event) => seek(Number(event.target.value)));
  get("cycle-keep-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const field = get("cycle-keep-name"), name = field.value.trim();
    wished = name;
    const answer = await post("cycle/keep", { state: scene.state, values: values.settings(), name }, true);
    if (answer.ok) { field.value = ""; say(`The state “${name}” is in the record now. Undo takes it back.`); } else wished = null;
  });
  scene = null;
  if (socket) socket.close();
  connect();
}

document.addEventListener("desk:drawn", start);
start();
