// Rows to be added: the fields of a form become a table of the record.
import { edit } from "./edit.js";

function deep(table, key, value) {
  const steps = key.split("."), last = steps.pop();
  for (const step of steps) table = table[step] ??= {};
  table[last] = value;
}

function value(field) {
  const text = field.value.trim();
  if (field.dataset.as !== "place") return text;
  const nodes = text.split(/[,;]| to | and /).map((one) => one.trim()).filter(Boolean);
  return nodes.length === 2 ? nodes : text;
}

export function adding() {
  document.addEventListener("submit", async (event) => {
    const form = event.target.closest?.("[data-add]");
    if (!form) return;
    event.preventDefault();
    const table = {};
    for (const field of form.elements) if (field.name && field.value.trim()) deep(table, field.name, value(field));
    if (!Object.keys(table).length) { form.elements[0].focus(); return; }
    for (const [key, held] of Object.entries(JSON.parse(form.dataset.defaults))) if (!(key in table)) table[key] = held;
    // The row is free at once, for who types on while it is being saved; what was not saved comes back.
    const typed = [...form.elements].filter((field) => field.name && field.value).map((field) => [field, field.value]);
    form.reset();
    form.elements[0].focus();
    const answer = await edit([{ do: "add", kind: form.dataset.add, table }], form.dataset.what);
    let said = form.querySelector(":scope > .said");
    if (!answer.ok) {
      for (const [field, text] of typed) if (!field.value) field.value = text;
      if (!said) {
        said = document.createElement("p");
        said.className = "said problem";
        said.setAttribute("role", "alert");
        said.dataset.stay = "";
        form.append(said);
      }
      said.textContent = answer.sentence;
      return;
    }
    said?.remove();
  });
}
