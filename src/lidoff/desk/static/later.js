// Parts of a page that take long to work out: <div data-later="/items/…/…"> is filled when they are there, and again
// whenever the record has another revision. What stood there stays, dimmed, until then.
import { morph } from "./redraw.js";

// While a place is empty it says at which stage the desk is.
async function progress(place) {
  const waiting = place.querySelector("[data-waiting]");
  if (!waiting || !document.body.dataset.item) return () => {};
  let on = true;
  const round = async () => {
    const told = await fetch(`${document.body.dataset.item}/progress`).then((answer) => answer.json()).catch(() => null);
    if (!on || !waiting.isConnected) return;
    if (told && !told.done) waiting.textContent = told.number ? `Working it out, step ${told.number} of ${told.of}: ${told.doing} …` : "Waiting for its turn …";
    setTimeout(() => on && round(), 600);
  };
  setTimeout(() => on && round(), 400);
  return () => { on = false; };
}

async function fill(place, anew = false) {
  const revision = document.body.dataset.revision;
  const mark = `${place.dataset.later}@${revision}`;
  if (place.dataset.filled === mark && !anew) return;
  place.dataset.filled = mark;
  const slow = setTimeout(() => place.setAttribute("aria-busy", "true"), 300);
  const stop = await progress(place);
  try {
    const response = await fetch(place.dataset.later, { headers: { accept: "text/html" } });
    const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
    if (place.dataset.filled !== mark) return;
    const box = document.createElement("div");
    for (const name of place.getAttributeNames()) box.setAttribute(name, place.getAttribute(name));
    box.removeAttribute("data-keep");
    const told = fresh.getElementById("content") ?? fresh.body;
    box.append(...[...told.childNodes].map((one) => document.importNode(one, true)));
    place.removeAttribute("data-keep");
    morph(place, box);
    document.dispatchEvent(new CustomEvent("desk:filled", { detail: place }));
  } catch {
    delete place.dataset.filled;
  } finally {
    clearTimeout(slow);
    stop();
    place.setAttribute("data-keep", "");
    place.removeAttribute("aria-busy");
  }
}

// Fills a place again now.
export const refill = (place) => fill(place, true);

function all() {
  for (const place of document.querySelectorAll("[data-later]")) fill(place);
}

// Places that look again by themselves, data-every milliseconds after the last time, while the page is seen.
function again() {
  for (const place of document.querySelectorAll("[data-later][data-every]")) {
    const round = async () => {
      if (place.isConnected && !document.hidden) await fill(place, true);
      if (place.isConnected) setTimeout(round, Number(place.dataset.every));
    };
    setTimeout(round, Number(place.dataset.every));
  }
}

export function later() {
  all();
  again();
  document.addEventListener("desk:drawn", all);
  document.addEventListener("desk:saved", (event) => { if (event.detail.revision === document.body.dataset.revision) all(); });
}
