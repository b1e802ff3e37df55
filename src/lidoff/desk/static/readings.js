// The verdict on a reading while its value is being typed: one question is asked at a time, the newest value next.
import { ask } from "./ask.js";

let asking = false, next = null;

function show(field, words, className) {
  const cell = field.closest(".field");
  let place = cell.querySelector(":scope > .tried");
  if (!place) {
    place = document.createElement("p");
    place.dataset.stay = "";
    place.setAttribute("aria-live", "polite");
    cell.append(place);
  }
  place.className = `tried ${className}`;
  place.textContent = words;
  if (!words) place.remove();
}

async function look(field) {
  if (asking) { next = field; return; }
  asking = true;
  const value = field.value.trim();
  const answer = value ? await ask(`${document.body.dataset.item}/readings/tried`, { which: Number(field.dataset.which), value }) : { ok: true };
  asking = false;
  if (field.value.trim() === value && field.hasAttribute("data-dirty")) {
    if (!answer.ok) show(field, answer.sentence, "problem");
    else show(field, answer.verdict ? `${answer.verdict}: ${answer.why}` : "", answer.verdict === "contradicts" ? "problem" : "soft");
  }
  if (next) { const again = next; next = null; look(again); }
}

let waiting;
document.addEventListener("input", (event) => {
  const field = event.target;
  if (!field.matches?.("[data-kind=reading][data-key=value]")) return;
  clearTimeout(waiting);
  waiting = setTimeout(() => look(field), 250);
});
document.addEventListener("desk:saved", () => document.querySelectorAll(".tried").forEach((one) => one.remove()));
