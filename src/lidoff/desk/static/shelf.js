// The shelf: asking it, and watching while records are worked out.
import { ask, say } from "./ask.js";
import { redraw } from "./redraw.js";

const at = (id) => document.getElementById(id);

// The page's policy lets no form go anywhere by itself: the question becomes the address, so that back and reload work.
document.addEventListener("submit", (event) => {
  event.preventDefault();
  const wanted = new URLSearchParams();
  for (const name of ["ask", "count"]) {
    const value = event.target.elements[name].value.trim();
    if (value) wanted.set(name, value);
  }
  location.assign(`/shelf${wanted.size ? `?${wanted}` : ""}#question`);
});
at("count")?.addEventListener("change", () => at("ask").requestSubmit());

function show(told) {
  if (!at("working")) return;
  at("working").hidden = !told.running;
  at("offer").hidden = told.running;
  at("doing").textContent = told.total ? `${told.done + 1} of ${told.total}: ${told.doing}` : told.doing;
  at("done").max = told.total || 1;
  at("done").value = told.done;
}

let watching = false;

async function watch() {
  if (watching) return;
  watching = true;
  let told = { running: true };
  for (let missed = 0; told.running && missed < 20;) {
    await new Promise((done) => setTimeout(done, 400));
    const now = await fetch("/shelf/progress").then((answer) => answer.json()).catch(() => null);
    missed = now ? 0 : missed + 1;
    if (now) show(told = now);
  }
  watching = false;
  const held = ["begin", "stop"].includes(document.activeElement?.id);
  await redraw();
  say(told.running ? "The desk does not answer: is it still running in the terminal?" : told.trouble || told.ended);
  // What was pressed is gone from the page: the keyboard goes on from where it stood.
  if (held || document.activeElement === document.body) at("standing")?.focus();
}

document.addEventListener("click", async (event) => {
  const id = event.target.closest?.("button")?.id;
  if (id === "begin") {
    const answer = await ask("/shelf/begin", {});
    if (!answer.ok) { say(answer.sentence); return; }
    show(answer);
    at("stop")?.focus();
    watch();
  } else if (id === "stop") {
    await ask("/shelf/stop", {});
    if (at("doing")) at("doing").textContent = "Stopping after this one …";
  }
});

if (at("working") && !at("working").hidden) watch();
document.documentElement.dataset.ready = ""; // for whoever waits for the scripts
