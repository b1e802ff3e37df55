// Photographs: dropped on a place or chosen there, sent one by one.
import { ask, say } from "./ask.js";
import { refill } from "./later.js";
import { redraw } from "./redraw.js";

async function send(place, files) {
  const pictures = [...files].filter((one) => one.type.startsWith("image/") || /\.(heic|heif)$/i.test(one.name));
  if (!pictures.length) { say("Those are no photographs."); return; }
  place.setAttribute("aria-busy", "true");
  for (const file of pictures) {
    const query = new URLSearchParams(place.dataset.drop.slice(1));
    query.set("name", file.name);
    try {
      const response = await fetch(`${document.body.dataset.item}/photos?${query}`, { method: "POST", headers: { accept: "application/json" }, body: file });
      const answer = await response.json();
      say(response.ok ? `${file.name} is in the record.` : answer.sentence);
    } catch {
      say(`${file.name} could not be sent: does the desk still run?`);
    }
  }
  place.removeAttribute("aria-busy");
  redraw();
}

// One that waits in the watched folder.
async function take(button) {
  button.disabled = true;
  const id = button.dataset.take;
  const answer = await ask(`${document.body.dataset.item}/waiting/take`, { id, shows: document.getElementById(`shows-${id}`).value });
  if (!answer.ok) { say(answer.sentence); button.disabled = false; return; }
  button.closest("figure").remove();
  redraw();
}

export function photographs() {
  document.addEventListener("click", async (event) => {
    const phone = event.target.closest?.("[data-phone]");
    if (phone) {
      const answer = await ask(`${document.body.dataset.item}/phone/${phone.dataset.phone}`, {});
      if (!answer.ok) say(answer.sentence);
      refill(document.getElementById("phone"));
    }
    const button = event.target.closest?.("[data-take]");
    if (button) take(button);
  });
  document.addEventListener("change", (event) => {
    const place = event.target.closest?.("[data-drop]");
    if (place && event.target.type === "file") { send(place, event.target.files).then(() => { event.target.value = ""; }); }
  });
  document.addEventListener("dragover", (event) => {
    const place = event.target.closest?.("[data-drop]");
    if (!place) return;
    event.preventDefault();
    place.classList.add("over");
  });
  document.addEventListener("dragleave", (event) => event.target.closest?.("[data-drop]")?.classList.remove("over"));
  document.addEventListener("drop", (event) => {
    event.preventDefault(); // elsewhere the browser would leave the page for the picture
    const place = event.target.closest?.("[data-drop]");
    if (!place) return;
    place.classList.remove("over");
    send(place, event.dataTransfer.files);
  });
}
