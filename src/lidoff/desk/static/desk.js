// What every page of an item does: fields that save themselves, undo and redo, removing, parts of pages that come later.
import { listen } from "./changes.js";
import { say } from "./ask.js";
import { edit, post, step } from "./edit.js";
import { fields } from "./fields.js";
import { later } from "./later.js";
import { photographs } from "./photos.js";
import { adding } from "./adding.js";

fields();
later();
photographs();
adding();
document.querySelector("#pages [aria-current]")?.scrollIntoView({ inline: "center", block: "nearest" });
if (!("ownSocket" in document.body.dataset)) listen();

document.addEventListener("click", (event) => {
  const button = event.target.closest?.("button");
  if (!button) return;
  if (button.dataset.goto) post("go-to", { number: Number(button.dataset.goto) }, true);
  else if (button.dataset.step) step(button.dataset.step);
  else if (button.dataset.remove) {
    const which = button.dataset.which;
    const what = button.dataset.what || `taken out: ${button.dataset.remove} ${which}`;
    edit([{ do: "remove", kind: button.dataset.remove, which: /^\d+$/.test(which) ? Number(which) : which }], what)
      .then((answer) => answer.ok && say(`${what[0].toUpperCase()}${what.slice(1)}. Undo brings it back.`, { confirms: true }));
  } else if (button.dataset.changes) changesOf(button);
});
document.addEventListener("change", (event) => {
  if (event.target.matches?.("input[type=checkbox][data-changes]")) changesOf(event.target);
});

// A row that is moved is taken out of the page for an instant: the keyboard stays on what was pressed, or beside it.
async function changesOf(node) {
  await edit(JSON.parse(node.dataset.changes), node.dataset.what);
  if (document.activeElement !== document.body || !node.id) return;
  const there = document.getElementById(node.id);
  (there?.disabled ? there.parentElement.querySelector("button:not(:disabled)") : there)?.focus();
}

document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
  // Within a field that is being typed in the browser's own undo is meant.
  if (event.target.closest?.("[data-dirty]")) return;
  const which = event.key.toLowerCase() === "z" ? (event.shiftKey ? "redo" : "undo") : event.key.toLowerCase() === "y" ? "redo" : null;
  if (which) { event.preventDefault(); step(which); }
});

document.documentElement.dataset.ready = ""; // for whoever waits for the scripts
