// What was typed in fields when a page was left. Leaving saves it, but that may be refused with nobody there to be told:
// the window keeps the words until the record says the same, and offers them when the page comes back.
const place = () => `typed ${location.pathname}`;

function held() {
  try { return JSON.parse(sessionStorage.getItem(place()) ?? "{}"); } catch { return {}; }
}
function hold(drafts) {
  try { if (Object.keys(drafts).length) sessionStorage.setItem(place(), JSON.stringify(drafts)); else sessionStorage.removeItem(place()); } catch { /* no room, or not allowed: then it is as it was without */ }
}

// A field is told by what it is about and the row that it stands in, which has a name where rows have only numbers.
const mark = (node) => JSON.stringify([node.dataset.name, node.dataset.about, node.dataset.kind, node.dataset.key, node.closest("[data-row]")?.dataset.row ?? node.dataset.which]);

export const keep = (node) => hold({ ...held(), [mark(node)]: node.value });
export function forget(node) {
  const { [mark(node)]: _, ...others } = held();
  hold(others);
}

// `written(node)` is what the record says, which a field need not show: a browser that loads a page anew fills in what
// was typed. `offer(node, text)` shows a field's words beside it, `withdraw(node)` takes them away; `lost(texts, done)`
// shows those whose field is gone from the page.
export function drafts({ written, offer, withdraw, lost }) {
  const offered = new Set();
  const look = () => {
    const all = held(), found = new Set();
    for (const node of document.querySelectorAll("[data-edit]:not([type=radio]):not([type=checkbox])")) {
      const text = all[mark(node)];
      found.add(mark(node));
      if (node.hasAttribute("data-dirty")) continue;
      if (text !== undefined && text !== written(node)) { if (!offered.has(node)) { offered.add(node); offer(node, text); } continue; }
      if (text !== undefined) forget(node);
      if (offered.delete(node)) withdraw(node);
    }
    const gone = Object.keys(all).filter((one) => !found.has(one));
    lost(gone.map((one) => all[one]), () => hold(Object.fromEntries(Object.entries(held()).filter(([one]) => !gone.includes(one)))));
  };
  for (const what of ["desk:drawn", "desk:filled"]) document.addEventListener(what, look);
  look();
}
