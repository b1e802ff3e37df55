// What is chosen on the photo, in words and with what can be done to it; and the lists of pads and joins.
import { standing } from "./words.js";

const el = (name, words = "", attributes = {}) => {
  const made = document.createElement(name);
  if (words) made.textContent = words;
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
};

function button(words, act, kind = "") {
  const made = el("button", words, { type: "button" });
  if (kind) made.className = kind;
  made.addEventListener("click", act);
  return made;
}

function field(words, id, value, list, save) {
  const place = el("div"), label = el("label", words, { for: id }), input = el("input", "", { id, autocomplete: "off", spellcheck: "false", autocapitalize: "off" });
  place.className = "field";
  input.value = value;
  if (list) input.setAttribute("list", list);
  input.addEventListener("change", () => save(input.value.trim()));
  place.append(label, input);
  return place;
}

// `act(body)` does something to the trace.
export function panel(root, stage, { act, choose }) {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  const place = $("chosen");
  let shown = "";

  function show(chosen, pair) {
    const state = stage.held.state, mark = JSON.stringify([chosen, pair, chosen && thing(state, chosen)]);
    if (mark === shown) return;
    shown = mark;
    place.replaceChildren();
    place.hidden = !chosen && !pair?.length;
    if (pair?.length) { two(pair); return; }
    if (!chosen || !state) return;
    const it = thing(state, chosen);
    if (it) ({ pad, hole, body, join, wire })[chosen.what](it, chosen.which);
  }

  const thing = (state, { what, which }) => ({ pad: state.pads, hole: state.holes, body: state.bodies, join: state.joins, wire: state.wires })[what][which];
  const heading = (words) => place.append(el("h3", words));
  const row = (...made) => { const one = el("div"); one.className = "row"; one.append(...made); place.append(one); };
  const title = (name) => stage.pad(name)?.title ?? name;

  function pad(it, which) {
    heading(`Pad ${it.title}`);
    const where = `${it.id}, at ${it.x.toFixed(1)}, ${it.y.toFixed(1)} mm`;
    place.append(el("p", `${where}${it.on ? `; on ${it.on}` : ""}${it.unsure ? "; on no copper that could be made out" : ""}.`, { class: "hint" }));
    const pin = field("Pin of a part", "tracing-pin", it.pin, "tracing-pins", (value) => act({ do: "name", what: "pad", which: it.id, pin: value, node: it.node }));
    const node = field("Its node, where that is known", "tracing-node", it.node, "tracing-nodes", (value) => act({ do: "name", what: "pad", which: it.id, pin: it.pin, node: value }));
    row(pin, node);
    row(button("Take this pad out", () => { choose(null); act({ do: "remove", what: "pad", which: it.id }); }, "plain"));
  }

  function hole(it, which) {
    heading("Hole");
    place.append(el("p", `${it.diameter.toFixed(1)} mm wide, at ${it.x.toFixed(1)}, ${it.y.toFixed(1)} mm.`, { class: "hint" }));
    row(button("Set a pad on it", () => act({ do: "add", what: "pad", x: it.x, y: it.y })), button("Take this hole out", () => { choose(null); act({ do: "remove", what: "hole", which }); }, "plain"));
  }

  function body(it, which) {
    heading(it.part ? `Body of ${it.part}` : "Body of a part");
    place.append(el("p", "No track is read through this box.", { class: "hint" }));
    row(field("Part", "tracing-part", it.part, "tracing-parts", (value) => act({ do: "name", what: "body", which, part: value })));
    row(button("Take this box out", () => { choose(null); act({ do: "remove", what: "body", which }); }, "plain"));
  }

  function join(it) {
    heading(`${title(it.a)} – ${title(it.b)}`);
    place.append(el("p", `${standing(it)}${it.view && it.status !== "doubtful" ? `; read in the view “${it.view}”` : ""}${it.status === "doubtful" && it.why ? `: ${it.why}` : ""}.`, { class: "hint" }));
    answers(it.a, it.b);
    if (it.status.startsWith("answered")) row(button("Take the answer out", () => { choose(null); act({ do: "forget", a: it.a, b: it.b }); }, "plain"));
  }

  function wire(it, which) {
    heading(`Wire from ${title(it.a)} to ${title(it.b)}`);
    if (it.note) place.append(el("p", it.note, { class: "hint" }));
    row(button("Take this wire out", () => { choose(null); act({ do: "remove", what: "wire", which }); }, "plain"));
  }

  function two(pair) {
    if (pair.length < 2) { heading(`From ${title(pair[0])} to …`); place.append(el("p", "Choose the second pad. Escape leaves it.", { class: "hint" })); return; }
    const [a, b] = pair;
    heading(`${title(a)} and ${title(b)}`);
    answers(a, b);
    const note = field("A jumper or a wire between them; a word about it", "tracing-wire-note", "", null, () => {});
    row(note, button("A wire joins them", () => { const words = note.querySelector("input").value; choose(null); act({ do: "wire", a, b, note: words }); }));
  }

  function answers(a, b) {
    const give = (joined, by) => () => { choose(null); act({ do: "answer", a, b, joined, by }); };
    row(button("Joined, measured", give(true, "continuity")), button("Not joined, measured", give(false, "continuity")));
    row(button("Joined, as I see it", give(true, "user")), button("Not joined, as I see it", give(false, "user")));
  }

  // The lists, made when they are opened.
  function lists() {
    const state = stage.held.state;
    if (!state) return;
    $("pads-count").textContent = state.pads.length;
    $("joins-count").textContent = state.joins.length;
    if ($("pads").open && !$("pads").contains(document.activeElement)) padList(state);
    if ($("joins").open) joinList(state);
  }
  for (const name of ["pads", "joins"]) $(name).addEventListener("toggle", lists);

  function padList(state) {
    const table = $("pads").querySelector("tbody");
    table.replaceChildren(...state.pads.map((it, which) => {
      const line = el("tr"), pin = el("input", "", { list: "tracing-pins", "aria-label": `Pin that pad ${it.id} is`, autocomplete: "off", spellcheck: "false" });
      const node = el("input", "", { list: "tracing-nodes", "aria-label": `Node of pad ${it.id}`, autocomplete: "off", spellcheck: "false" });
      pin.value = it.pin;
      node.value = it.node;
      const save = () => act({ do: "name", what: "pad", which: it.id, pin: pin.value.trim(), node: node.value.trim() });
      pin.addEventListener("change", save);
      node.addEventListener("change", save);
      const cells = [el("td", it.id, { "data-label": "Pad" }), el("td", "", { "data-label": "Pin" }), el("td", "", { "data-label": "Node told" }), el("td", it.on || "–", { "data-label": "Node traced" }), el("td")];
      cells[1].append(pin);
      cells[2].append(node);
      cells[4].append(button("Show", () => choose({ what: "pad", which }, true)), " ", button("Take out", () => act({ do: "remove", what: "pad", which: it.id }), "plain"));
      line.append(...cells);
      return line;
    }));
  }

  function joinList(state) {
    const table = $("joins").querySelector("tbody");
    table.replaceChildren(...state.joins.map((it, which) => {
      const line = el("tr"), last = el("td");
      last.append(button("Show", () => choose({ what: "join", which }, true)));
      line.append(el("td", `${title(it.a)} – ${title(it.b)}`, { "data-label": "Pads" }), el("td", standing(it), { "data-label": "How it stands" }), last);
      return line;
    }));
  }

  return { show, lists };
}
