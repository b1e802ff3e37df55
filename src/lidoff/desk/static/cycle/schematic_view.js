// The schematic with the cycle in it: lines as thick as the current at the cursor, knobs and switches to be worked.
import { rowThrough } from "./frame.js";
import { drawKnob } from "./knob_view.js";
import { follow, weight } from "./scale.js";
import { make, put, set } from "./svg.js";
import { before, lasting, lasts, mixed } from "./waves.js";

const SMALL = 480; // [units] a picture no wider fits a telephone
const BOLDEST = 2.6; // the strokes of a symbol get no bolder

// `work` has knob(ref, position), toggle(ref), pick(ref).
export function schematicView(place, { scene, work }) {
  const { svg, wires, leads, knob: room } = scene.picture;
  const picture = document.importNode(new DOMParser().parseFromString(svg, "image/svg+xml").documentElement, true);
  set(picture, { role: "group", "aria-label": "Schematic: parts can be chosen, knobs and switches worked", class: `lidoff live-schematic${picture.viewBox.baseVal.width < SMALL ? " small" : ""}` });
  for (const description of picture.querySelectorAll(":scope > title, :scope > desc")) description.remove();
  place.replaceChildren(picture);
  const all = (name) => [...picture.querySelectorAll(`[data-${name}]`)];
  const lines = [...all("wire").map((node) => ({ node, mix: wires[Number(node.dataset.wire)] })), ...all("lead").map((node) => ({ node, mix: leads[Number(node.dataset.lead)] }))];
  const arrows = all("arrow").map((node) => ({ node, mix: wires[Number(node.dataset.arrow)], x: Number(node.dataset.x), y: Number(node.dataset.y), ux: Number(node.dataset.ux), uy: Number(node.dataset.uy) }));
  const strokes = new Map();
  for (const node of all("stroke")) strokes.set(node.dataset.stroke, [...(strokes.get(node.dataset.stroke) ?? []), node]);
  const groups = new Map(all("ref").map((node) => [node.dataset.ref, node]));
  const pinsOf = new Map();
  for (const node of all("lead")) {
    const ref = node.closest("[data-ref]").dataset.ref;
    pinsOf.set(ref, [...(pinsOf.get(ref) ?? []), leads[Number(node.dataset.lead)]]);
  }
  const measured = [...new Map(leads.flat().map(([row, factor]) => [row, Math.abs(factor)]))];
  let most = 0, frame = null, times = new Map(); // `times`: rows of parts that are there more often than is recorded

  // A part is a button that shows its own voltage and current; a switch is one that is thrown.
  const switches = new Map(scene.switches.map((one) => [one.ref, one]));
  for (const [ref, group] of groups) {
    const body = group.querySelector("[data-body]"), one = switches.get(ref);
    const box = ["x", "y", "width", "height"].map((name) => Number(body.getAttribute(name)));
    const hold = make("rect", { x: box[0] - 3, y: box[1] - 3, width: box[2] + 6, height: box[3] + 6, rx: 4, class: one ? "hold switch-hold" : "hold" });
    group.prepend(hold);
    group.querySelector("title")?.remove();
    const about = scene.parts.find((part) => part.ref === ref);
    set(group, { tabindex: "0", role: one ? "switch" : "button", "aria-label": one ? `${ref}, ${about.title} on the schematic, closed` : `${ref}, ${about.title}: show its voltage and current` });
    const act = () => (one ? work.toggle(ref) : work.pick(ref));
    group.addEventListener("click", act);
    group.addEventListener("keydown", (event) => { if (event.key === "Enter" || event.key === " ") { event.preventDefault(); act(); } });
  }
  const knobs = new Map();
  for (const node of all("knob")) {
    const knob = scene.knobs.find((one) => one.ref === node.dataset.knob);
    knobs.set(knob.ref, drawKnob(node, { x: Number(node.dataset.x), y: Number(node.dataset.y), radius: room * 0.66, knob, label: `${knob.ref} on the schematic`, moved: (position) => work.knob(knob.ref, position) }));
  }

  // Parts and wires at an instant [s].
  function at(t) {
    if (!frame) return;
    const where = before(frame.time, t);
    for (const { node, mix } of lines) pen(node, weight(mixed(frame, mix, t, where, times), most));
    for (const [ref, mixes] of pinsOf) {
      const w = Math.max(0, ...mixes.map((mix) => weight(mixed(frame, mix, t, where, times), most)));
      groups.get(ref).classList.toggle("idle", w === 0);
      for (const node of strokes.get(ref) ?? []) put(node, "stroke-width", width(Math.min(Math.max(w, 1), BOLDEST)));
    }
    for (const { node, mix, x, y, ux, uy } of arrows) {
      const amps = mixed(frame, mix, t, where, times), s = Math.sign(amps);
      put(node, "d", weight(amps, most) === 0 ? "" : `M${x + 7 * s * ux},${y + 7 * s * uy} ${x - 5 * s * ux - 6 * uy},${y - 5 * s * uy + 6 * ux} ${x - 5 * s * ux + 6 * uy},${y - 5 * s * uy - 6 * ux}Z`);
    }
  }

  // To a tenth: what nobody could see need not be painted anew.
  const width = (w) => w.toFixed(1);
  function pen(node, w) {
    put(node, "stroke-width", w === 0 ? "1" : width(w));
    node.classList.toggle("flowing", w > 0);
    node.classList.toggle("still", w === 0);
  }

  // Words of the drawing with another value in them for the time being, in the accent's colour.
  function reword(node, recorded, now) {
    node.dataset.recorded ??= node.textContent;
    const kept = node.dataset.recorded, at = recorded ? kept.lastIndexOf(recorded) : -1;
    node.textContent = now !== null && at >= 0 ? kept.slice(0, at) + now + kept.slice(at + recorded.length) : kept;
    node.classList.toggle("reworded", now !== null);
  }
  const mains = scene.supply.words ? [...picture.querySelectorAll(":scope > text")].find((node) => node.textContent === scene.supply.words) : null;

  return {
    draw(now, t) {
      frame = now;
      // The scale of the thickness stays while the largest current that lasts is within it and above its quarter.
      const time = frame.time, above = (level) => measured.some(([row, factor]) => lasts(time, frame.row(row), level / factor / (times.get(row) ?? 1)));
      if (frame.direct || !most || above(most) || !above(most / 4)) most = follow(most, Math.max(0, ...measured.map(([row, factor]) => lasting(time, frame.row(row)) * factor * (times.get(row) ?? 1))));
      at(t);
    },
    at,
    get most() { return most; },
    knob(ref, position) { knobs.get(ref)?.show(position); },
    toggle(ref, closed) {
      const group = groups.get(ref);
      if (!group) return;
      set(group, { "aria-checked": String(closed) });
      for (const node of group.querySelectorAll("[data-when]")) set(node, { display: (node.dataset.when === "closed") === closed ? null : "none" });
    },
    // The values of a part that are tried: [{text: as recorded, now: as tried or null}, …].
    tried(ref, all) {
      const about = scene.parts.find((part) => part.ref === ref), changed = all.filter((one) => one.now !== null);
      for (const node of groups.get(ref)?.querySelectorAll("text") ?? []) {
        // The value stands in the last line, or with the name in the only one.
        const shown = changed.find((one) => one.text === about.words && (node.dataset.recorded ?? node.textContent).endsWith(about.words));
        if (shown) reword(node, about.words, shown.now);
        else { reword(node, "", null); node.classList.toggle("reworded", changed.length > 0); }
      }
    },
    // How often a block is there, in words, and how many rows of it stand side by side, as a share of those recorded.
    counted(block, words, share) {
      const node = [...picture.querySelectorAll("text")].find((one) => (one.dataset.recorded ?? one.textContent) === block.drawn);
      if (node) reword(node, block.drawn, words);
      scene.parts.forEach((part, k) => { if (part.block === block.name) times.set(rowThrough(k), share); });
    },
    mains(now) { if (mains) reword(mains, scene.supply.words, now); },
    pick(ref) { for (const [name, group] of groups) { group.classList.toggle("picked", name === ref); if (!switches.has(name)) set(group, { "aria-pressed": String(name === ref) }); } },
  };
}
