// Making a write-up: the button waits, the link opens what was made.
import { ask } from "./ask.js";
import { redraw } from "./redraw.js";

document.addEventListener("click", async (event) => {
  const button = event.target.closest?.("[data-make]");
  if (!button) return;
  const trouble = document.getElementById("made"), words = button.textContent;
  trouble.hidden = true;
  button.disabled = true;
  button.textContent = "Working it out …";
  const answer = await ask(`${document.body.dataset.item}/writeup/make/${button.dataset.make}`, {});
  button.disabled = false;
  button.textContent = words;
  if (!answer.ok) { trouble.textContent = answer.sentence; trouble.hidden = false; return; }
  await redraw();
});
