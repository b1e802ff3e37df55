// Part by part: its value, to be tried; what it carries at the cursor; what it turns into heat.
import { next } from "./series.js";
import { instant, words } from "./show.js";
import { write } from "./svg.js";
import { before, largest, value } from "./waves.js";

const el = (name, kind = "", content = "") => { const node = document.createElement(name); if (kind) node.className = kind; node.textContent = content; return node; };

const COLUMNS = ["Voltage now", "Current now", "Current, rms", "Heat and light"];

// `work` has pick(ref), attempt(name, text, sure), textOf(name), members(part).
export function partsView(table, other, { scene, work }) {
  const head = el("tr");
  for (const [title, kind] of [["Part", ""], ["Value", ""], ...COLUMNS.map((one) => [one, "numeric"])]) {
    const cell = el("th", kind, title);
    cell.scope = "col";
    head.append(cell);
  }
  const thead = el("thead"), body = el("tbody");
  thead.append(head);
  const fields = new Map();
  const rows = scene.parts.map((part) => {
    const row = el("tr"), name = el("th"), pick = el("button", "plain pick-part", part.ref), val = el("td", "tried-cell");
    name.scope = "row";
    pick.type = "button";
    pick.title = "Draw its voltage and current";
    pick.setAttribute("aria-pressed", "false");
    pick.addEventListener("click", () => work.pick(part.ref));
    const about = el("span", "soft");
    name.append(pick, about);
    const first = part.tries[0];
    if (first) val.append(...field(first));
    const cells = COLUMNS.map((title) => { const cell = el("td", "numeric"); cell.dataset.label = title; return cell; });
    row.append(name, val, ...cells);
    const block = scene.blocks.find((one) => one.parts[0] === part.ref);
    if (block) body.append(counts(block));
    body.append(row);
    return { row, pick, cells, about };
  });
  table.replaceChildren(thead, body);
  rest();

  // Above the parts of a block: how often it is there.
  function counts(block) {
    const row = el("tr", "block-row"), name = el("th", "", block.name), val = el("td", "tried-cell"), said = el("td", "soft");
    name.scope = "row";
    name.append(el("span", "soft", " repeated group"));
    for (const one of block.tries) { const [input, ...more] = field(one), pair = el("span", "count-pair"); input.inputMode = "numeric"; pair.append(input, ...more); val.append(pair); }
    said.colSpan = COLUMNS.length;
    said.textContent = `Each is ${block.parts.map((ref) => ref.slice(block.name.length + 1)).join(", ")}.`;
    row.append(name, val, said);
    return row;
  }

  function field(one, long = false) {
    const input = el("input"), said = el("span", "problem");
    input.value = work.textOf(one.name) ?? one.text;
    input.autocomplete = "off";
    input.spellcheck = false;
    input.className = "try";
    input.setAttribute("aria-label", `${one.name.replace(".", " ")}: try another value`);
    const note = el("span", "soft origin", long ? "" : [one.label === "value" ? "" : one.label, one.origin].filter(Boolean).join(", "));
    const attempt = (sure) => work.attempt(one.name, input.value.trim() === one.text ? "" : input.value.trim(), sure);
    input.addEventListener("input", () => attempt(false));
    input.addEventListener("change", () => attempt(true));
    input.addEventListener("keydown", (event) => {
      if (event.key === "Escape") { input.value = one.text; attempt(true); }
      else if (event.key === "ArrowUp" || event.key === "ArrowDown") {
        const text = next(input.value, one.unit, event.key === "ArrowUp" ? 1 : -1, one.whole);
        if (text) { event.preventDefault(); input.value = text; attempt(false); }
      }
    });
    fields.set(one.name, { input, said, one });
    return [input, note, said];
  }

  // Whatever else the laws of the parts take.
  function rest() {
    const all = scene.parts.flatMap((part) => part.tries.slice(1));
    if (scene.supply.dc !== undefined) all.unshift({ name: "supply.dc", label: "voltage of the bench supply", text: scene.supply.text, unit: "V", origin: "" });
    other.replaceChildren();
    if (!all.length) return;
    const choose = el("div", "field"), label = el("label", "", "Another value"), select = el("select"), box = el("div", "field");
    select.id = "cycle-other-name";
    label.htmlFor = select.id;
    select.append(...all.map((one) => { const option = el("option", "", `${one.name.split(".")[0]}: ${one.label}`); option.value = one.name; return option; }));
    choose.append(label, select);
    const show = () => {
      for (const one of all) fields.delete(one.name);
      const one = all.find((candidate) => candidate.name === select.value), title = el("span", "soft", one.origin ? `${one.text}, ${one.origin}` : `recorded: ${one.text}`);
      box.replaceChildren(title, ...field(one, true));
    };
    select.addEventListener("change", show);
    other.append(choose, box);
    show();
  }

  // Off the screen it is filled in when the hand rests: its layout is the dearest part of a picture.
  const REST = 200; // [ms]
  let seen = true, last = null, later = 0;
  const watch = new IntersectionObserver(([entry]) => { seen = entry.isIntersecting; if (seen && last) fill(...last); }, { rootMargin: "120px" });
  watch.observe(table);

  function draw(frame, t) {
    last = [frame, t];
    clearTimeout(later);
    if (seen) fill(frame, t); else later = setTimeout(() => fill(...last), REST);
  }

  function at(frame, t) {
    if (!seen) { draw(frame, t); return; }
    last = [frame, t];
    instants(frame, t);
  }

  function instants(frame, t) {
    const where = before(frame.time, t);
    scene.parts.forEach((_, k) => {
      const volts = frame.across(k), amps = frame.through(k), [v, i] = rows[k].cells;
      write(v, instant(value(frame.time, volts, t, where), "V", largest(volts)));
      write(i, instant(value(frame.time, amps, t, where), "A", largest(amps)));
    });
  }

  function fill(frame, t) {
    instants(frame, t);
    scene.parts.forEach((part, k) => {
      const [, , rms, heat] = rows[k].cells, members = work.members(part), each = frame.power(k) / members;
      write(rows[k].about, ` ${part.title}${members > 1 ? `, one of ${members}` : ""}`);
      write(rms, words(frame.rms(k), "A"));
      const over = part.rated !== null && each > part.rated;
      write(heat, `${words(each, "W")}${part.rated === null ? "" : ` of ${words(part.rated, "W", 2)}`}${over ? ": over its rating" : ""}`);
      heat.classList.toggle("over", over);
    });
  }

  return {
    draw,
    at,
    end() { watch.disconnect(); clearTimeout(later); },
    pick(ref) { scene.parts.forEach((part, k) => { rows[k].row.classList.toggle("picked", part.ref === ref); rows[k].pick.setAttribute("aria-pressed", String(part.ref === ref)); }); },
    // A sentence beside the field of a value that was not taken; "" where all is well.
    refuse(name, sentence) {
      const one = fields.get(name);
      if (!one) return false;
      one.said.textContent = sentence;
      if (sentence) one.input.setAttribute("aria-invalid", "true"); else one.input.removeAttribute("aria-invalid");
      return true;
    },
    mark(tried) { for (const [key, { input }] of fields) input.classList.toggle("changed", tried(key)); },
    reset(name) { const one = fields.get(name); if (one) one.input.value = one.one.text; },
  };
}
