// Fields that are saved when they are left: every element with data-edit, wherever and whenever it comes.
import { drafts, forget, keep } from "./drafts.js";
import { edit } from "./edit.js";
import { redraw } from "./redraw.js";

const isField = (node) => node instanceof Element && node.matches("[data-edit]");
const start = (node) => node.localName === "select"
  ? (node.querySelector("option[selected]")?.value ?? "")
  : node.localName === "textarea" ? node.defaultValue : node.getAttribute("value") ?? "";

// What a field is about, as a change for the desk.
function change(node, value) {
  const { name, kind, which, key, about } = node.dataset;
  if (about) return { do: "answer", about, [key]: value };
  if (name) return { do: "set", name, value };
  return { do: "set", kind, which: /^\d+$/.test(which) ? Number(which) : which, key, value };
}

function value(node) {
  const text = node.value;
  if (node.dataset.as === "list") return text.split(/[,;]/).map((one) => one.trim()).filter(Boolean);
  if (node.dataset.as === "place") {
    const nodes = text.split(/[,;]| to | and |–/).map((one) => one.trim()).filter(Boolean);
    return nodes.length === 2 ? nodes : text;
  }
  return text;
}

// From now on the field holds something that is not in the record.
function soil(node) {
  if (node.hasAttribute("data-dirty")) return;
  node.dataset.was = start(node);
  node.setAttribute("data-dirty", "");
}

function beside(node, sentence, buttons = []) {
  const box = node.closest(".field, td, .cell") ?? node.parentElement;
  let place = box.querySelector(":scope > .said");
  if (!sentence) { place?.remove(); node.removeAttribute("aria-errormessage"); return; }
  if (!place) {
    place = document.createElement("p");
    place.className = "said problem";
    place.setAttribute("role", "alert");
    place.dataset.stay = "";
    place.id = `${node.id || "field"}-said`;
    box.append(place);
  }
  place.replaceChildren(sentence, ...buttons.map(([label, act]) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = label;
    button.addEventListener("click", act);
    return button;
  }));
}

function label(node) {
  return node.getAttribute("aria-label") || node.labels?.[0]?.textContent.trim() || node.dataset.key || node.dataset.name;
}

async function save(node, again = true) {
  if (!node.hasAttribute("data-dirty")) return;
  if (node.value === (node.dataset.was ?? start(node))) { forget(node); settle(node); return; }
  if (node.hasAttribute("data-clash")) return;
  const sent = node.value;
  const answer = await edit([change(node, value(node))], node.dataset.what || `${label(node)}: ${sent || "taken out"}`.slice(0, 120), { draw: false });
  if (answer.ok) {
    if (node.value === sent) { forget(node); settle(node); }
    beside(node, "");
    await redraw();
  } else if (answer.status === 409 && again && !node.hasAttribute("data-clash") && (node.dataset.name || node.dataset.about)) {
    // Something else was changed meanwhile, and this is named by what it is: it can be saved beside that.
    await save(node, false);
  } else if (answer.status !== 409 || !node.hasAttribute("data-clash")) {
    beside(node, answer.sentence, [["Save it again", () => save(node)], ["Leave it", () => drop(node)]]);
  }
}

function settle(node) {
  node.removeAttribute("data-dirty");
  node.removeAttribute("data-clash");
  delete node.dataset.was;
  if (node.localName !== "select" && node.localName !== "textarea") node.setAttribute("value", node.value);
  else if (node.localName === "textarea") node.defaultValue = node.value;
}

function drop(node) {
  forget(node);
  node.value = node.dataset.was ?? start(node);
  settle(node);
  beside(node, "");
  node.focus();
}

function clash(node, now) {
  if (now === node.value) { forget(node); settle(node); beside(node, ""); return; } // both typed the same
  node.setAttribute("data-clash", "");
  beside(node, `Changed elsewhere meanwhile: the record now says ${now ? `“${now}”` : "nothing"}. `, [
    ["Save mine", () => { node.removeAttribute("data-clash"); save(node); }],
    ["Take the record’s", () => drop(node)],
  ]);
}

// What was typed before the page was left, and is not what the record says.
const short = (text) => (text.length > 160 ? `${text.slice(0, 159)}…` : text);
function offer(node, text) {
  beside(node, `Typed here before and not in the record: ${text ? `“${short(text)}”` : "nothing"}. `, [
    ["Save what I typed", () => { beside(node, ""); soil(node); node.value = text; save(node); }],
    ["Take the record’s", () => drop(node)],
  ]);
}

function lost(texts, done) {
  const content = document.getElementById("content");
  let place = content?.querySelector(":scope > .lost");
  if (!texts.length) { place?.remove(); return; }
  if (!place) {
    place = document.createElement("p");
    place.className = "lost problem";
    place.setAttribute("role", "alert");
    place.dataset.stay = "";
    content.prepend(place);
  }
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Let it go";
  button.addEventListener("click", () => { done(); place.remove(); });
  place.replaceChildren(`Typed here before, in a place that is gone: ${texts.map((one) => `“${one}”`).join(", ")}. `, button);
}

export function fields() {
  document.addEventListener("input", (event) => {
    const node = event.target;
    if (isField(node) && node.type !== "radio" && node.type !== "checkbox") soil(node);
  });
  document.addEventListener("change", (event) => {
    const node = event.target;
    if (!isField(node)) return;
    if (node.type === "radio") edit([change(node, node.value)], node.dataset.what || `${label(node)}`);
    else if (node.type === "checkbox") edit([change(node, node.checked)], `${label(node)}: ${node.checked ? "yes" : "no"}`);
    else { soil(node); save(node); }
  });
  document.addEventListener("keydown", (event) => {
    const node = event.target;
    if (!isField(node)) return;
    if (event.key === "Escape" && node.hasAttribute("data-dirty")) { event.preventDefault(); drop(node); }
    // A text of several lines keeps its line breaks; one that only grows with its words is one line.
    else if (event.key === "Enter" && (node.localName === "input" || node.rows === 1)) { event.preventDefault(); soil(node); save(node); }
  });
  document.addEventListener("desk:clash", (event) => clash(event.target, event.detail.now));
  addEventListener("beforeunload", (event) => {
    for (const node of document.querySelectorAll("[data-edit][data-dirty]")) {
      keep(node);
      // Leaving the page leaves the field, which saves it; only what could not be saved holds the reader back.
      const refused = node.hasAttribute("data-clash") || document.getElementById(`${node.id || "field"}-said`);
      if (refused || document.getElementById("notice")?.hidden === false) event.preventDefault();
      else save(node);
    }
  });
  drafts({ written: start, offer, withdraw: (node) => beside(node, ""), lost });
}
