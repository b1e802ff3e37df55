// A name that is changed is changed everywhere: a part's where it is listed, a node's in the table of nodes.
import { edit } from "./edit.js";

async function rename(field) {
  const from = field.dataset.from, to = field.value.trim();
  if (!to || to === from) { field.value = from; return; }
  const answer = await edit([{ do: "rename", what: field.dataset.rename, from, to }], `${from} renamed to ${to}`);
  if (!answer.ok) { field.setCustomValidity(answer.sentence); field.reportValidity(); field.setCustomValidity(""); }
}

document.addEventListener("change", (event) => {
  if (event.target.matches?.("[data-rename]")) rename(event.target);
});
document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.matches?.("[data-rename]")) { event.preventDefault(); event.target.blur(); }
});
