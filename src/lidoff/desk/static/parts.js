// Saying parts: what a sentence would make is shown while it is typed; entered, it is saved and the line is free again.
import { ask } from "./ask.js";
import { edit } from "./edit.js";

const box = document.getElementById("understood");
const line = document.getElementById("sentence");
let asked = 0;

function element(name, text, className) {
  const made = document.createElement(name);
  if (text) made.textContent = text;
  if (className) made.className = className;
  return made;
}

// Colour bands as swatches; a band of which two colours are possible shows both.
export function bands(options) {
  const row = element("span", "", "bands");
  row.setAttribute("role", "img");
  row.setAttribute("aria-label", `Bands: ${options.map((one) => one.join(" or ")).join(", ")}`);
  for (const one of options) {
    const band = element("span", "", "band");
    for (const colour of one.slice(0, 3)) band.append(element("i", "", `c-${colour}`));
    row.append(band);
  }
  return row;
}

function meaning(told, into) {
  if (!told) return;
  into.append(element("span", told.text ? `${told.text}` : "", "meant"));
  if (told.why) into.append(element("span", ` ${told.why}`, "soft"));
  if (told.or?.length) into.append(element("span", ` Or: ${told.or.join("; ")}.`, "soft"));
}

async function look() {
  const sentence = line.value.trim(), number = ++asked;
  if (!sentence) { box.replaceChildren(); return; }
  const answer = await ask(`${document.body.dataset.item}/said`, { sentence });
  if (number !== asked) return;
  box.replaceChildren();
  if (!answer.ok) { box.append(element("p", answer.sentence, "soft")); return; }
  const told = element("p", `${answer.new ? "New: " : "Changes "}${answer.words}.`);
  if (answer.bands?.length) told.append(" ", bands(answer.bands));
  box.append(told);
  if (answer.meaning) { const more = element("p", ""); meaning(answer.meaning, more); box.append(more); }
}

let waiting;
line?.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(look, 120); });
document.getElementById("say")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  clearTimeout(waiting);
  const sentence = line.value.trim();
  if (!sentence) return;
  // The line is free at once, for who types on while it is being saved; what was not saved comes back.
  line.value = "";
  line.focus();
  asked += 1;
  box.replaceChildren(element("p", `${sentence} …`, "soft"));
  const answer = await edit([{ do: "say", sentence }], sentence.slice(0, 120));
  if (answer.ok) {
    if (line.value) return;
    box.replaceChildren(element("p", `Saved: ${sentence}`, "soft"));
    for (const one of answer.problems ?? []) box.append(element("p", one.message, "problem"));
    return;
  }
  const trouble = element("p", answer.sentence, "problem");
  if (line.value) {
    const back = element("button", `Take back: ${sentence}`);
    back.type = "button";
    back.addEventListener("click", () => { line.value = sentence; line.focus(); look(); });
    trouble.append(" ", back);
  } else line.value = sentence;
  box.replaceChildren(trouble);
});
document.addEventListener("click", (event) => {
  const button = event.target.closest?.("[data-sentence]");
  if (!button) return;
  line.value = button.dataset.sentence;
  line.focus();
  look();
});

// A sentence that was begun is still there after the page was loaded anew, in this tab.
const DRAFT = `lidoff-sentence ${document.body.dataset.item}`;
const draft = (text) => { try { return text === undefined ? sessionStorage.getItem(DRAFT) : sessionStorage.setItem(DRAFT, text); } catch { return ""; } };
if (line && !line.value) line.value = draft() ?? "";
addEventListener("pagehide", () => { if (line) draft(line.value); });
if (line?.value) look(); // typed before this script was there

// A marking in a row is decoded as it is typed.
let decoding;
document.addEventListener("input", (event) => {
  const place = event.target.closest?.(".decoding");
  if (!place) return;
  clearTimeout(decoding);
  decoding = setTimeout(async () => {
    const shown = place.querySelector(".meaning");
    const answer = await ask("/decoded", { marking: event.target.value, kind: shown.dataset.kind });
    if (!answer.ok) return;
    shown.replaceChildren();
    if (answer.bands?.length) shown.append(bands(answer.bands), " ");
    meaning(answer.text ? answer : { text: "", why: event.target.value ? "Means nothing known." : "" }, shown);
  }, 150);
});

// Pins: all the pins of a part are saved as its nodes when one of them is left.
document.addEventListener("change", async (event) => {
  const pin = event.target.closest?.("[data-pin]");
  if (!pin) return;
  const all = [...document.querySelectorAll(`[data-pin][data-which="${pin.dataset.which}"]`)];
  const listed = all.length === 2 && all[0].dataset.pin === "1";
  const nodes = listed ? all.map((one) => one.value.trim()) : Object.fromEntries(all.map((one) => [one.dataset.pin, one.value.trim()]));
  // A list of two needs both; the first one waits for the second.
  if (listed && nodes.some((one) => !one) && nodes.some((one) => one)) return;
  const value = listed ? nodes.filter(Boolean) : nodes;
  await edit([{ do: "set", kind: "part", which: Number(pin.dataset.which), key: "nodes", value }], `${pin.dataset.part}: ${pin.dataset.pin} on ${pin.value || "nothing"}`);
});
