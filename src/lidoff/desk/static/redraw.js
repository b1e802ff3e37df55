// Draws the page anew from what the desk says now, and leaves alone what somebody is typing in.

let drawing = null;
let again = false;
let saves = 0;

// To be called when something was saved: a page that was on its way before that is older than the record, and is asked
// for anew.
export function saved(revision) {
  saves += 1;
  document.body.dataset.revision = revision;
}

// Fetches the page as it stands now and takes over what differs. Called while at it, it draws once more afterwards.
export function redraw() {
  if (drawing) { again = true; return drawing; }
  drawing = (async () => {
    do {
      again = false;
      const before = saves;
      const response = await fetch(location.href, { headers: { accept: "text/html" } });
      const fresh = new DOMParser().parseFromString(await response.text(), "text/html");
      if (saves !== before) { again = true; continue; }
      if (!response.ok && !fresh.body.dataset.revision) return;
      const goOn = standing();
      for (const id of ["tools", "pages", "content"]) {
        const old = document.getElementById(id), now = fresh.getElementById(id);
        if (old && now) morph(old, now);
      }
      goOn();
      document.title = fresh.title;
      document.body.dataset.revision = fresh.body.dataset.revision;
    } while (again);
    document.dispatchEvent(new CustomEvent("desk:drawn"));
  })().catch(() => {}).finally(() => { drawing = null; });
  return drawing;
}

// Remembers where the keyboard stands. What it gives is called after drawing: where that place is gone, the keyboard goes
// on at what stood behind it, or else before it, and is never sent back to the top of the page.
const REACHED = "a[href], button, input, select, textarea, summary, [tabindex]";
function standing() {
  const here = document.activeElement;
  if (!here || here === document.body) return () => {};
  const all = [...document.querySelectorAll(REACHED)], at = all.indexOf(here);
  return () => {
    if (here.isConnected && !here.disabled) { if (document.activeElement === document.body) here.focus({ preventScroll: true }); return; }
    // A button that has nothing more to do is not exchanged for its neighbour: who presses it again means this one.
    if (here.isConnected) { document.getElementById("content")?.focus({ preventScroll: true }); return; }
    const around = [...all.slice(at + 1), ...all.slice(0, Math.max(at, 0)).reverse()];
    around.find((one) => one.isConnected && !one.disabled && one.tabIndex >= 0 && one.checkVisibility())?.focus();
  };
}

// What the page's own scripts have written on an element.
const OURS = new Set(["data-dirty", "data-was", "data-clash", "data-filled", "open", "value"]);
// What they have added and take away again themselves.
const stays = (node) => node.nodeType === 1 && node.hasAttribute("data-stay");

const isField = (node) => node.matches("input, select, textarea");
const written = (node) => node.localName === "select"
  ? (node.querySelector("option[selected]")?.value ?? node.options[0]?.value ?? "")
  : node.localName === "textarea" ? node.defaultValue : node.getAttribute("value") ?? "";
// Whether a field holds what has not been saved.
export const dirty = (node) => node.hasAttribute("data-dirty");

// Makes `old` like `now`, keeping nodes where they are the same thing, so that focus, caret and scroll stay.
export function morph(old, now) {
  if (old.hasAttribute("data-keep")) return;
  attributes(old, now);
  if (isField(old)) { field(old, now); return; }
  const byKey = new Map();
  for (const child of old.children) if (key(child)) byKey.set(key(child), child);
  let at = old.firstChild;
  for (const wanted of [...now.childNodes]) {
    while (at && stays(at)) at = at.nextSibling;
    const same = wanted.nodeType === 1 && key(wanted) ? byKey.get(key(wanted)) : null;
    if (same && same.parentNode === old && same.localName === wanted.localName) {
      if (same !== at) old.insertBefore(same, at); else at = at.nextSibling;
      morph(same, wanted);
    } else if (at && !same && alike(at, wanted)) {
      const next = at.nextSibling;
      if (at.nodeType === 1) morph(at, wanted); else if (at.data !== wanted.data) at.data = wanted.data;
      at = next;
    } else {
      old.insertBefore(document.importNode(wanted, true), at);
    }
  }
  while (at) { const next = at.nextSibling; if (!stays(at)) at.remove(); at = next; }
}

const key = (node) => node.id || node.getAttribute?.("data-row") || "";
const alike = (a, b) => a.nodeType === b.nodeType && a.nodeName === b.nodeName && (a.nodeType !== 1 || (!key(a) && !key(b)));

function attributes(old, now) {
  for (const { name } of [...old.attributes]) {
    if (OURS.has(name)) continue;
    if (!now.hasAttribute(name)) old.removeAttribute(name);
  }
  for (const { name, value } of [...now.attributes]) {
    if (name === "value" || name === "open") continue;
    if (old.getAttribute(name) !== value) old.setAttribute(name, value);
  }
}

// Whether what stands in a field is the reader's own: not saved yet, or in a line that is not a field of the record.
const LINES = "[data-pin], [data-rename]"; // saved by scripts of their own
const own = (node) => dirty(node) || !(node.hasAttribute("data-edit") || node.matches(LINES))
  || (node.matches(LINES) && node === document.activeElement && node.value !== written(node));

function field(old, now) {
  const before = old.dataset.was ?? written(old), after = written(now);
  if (old.localName === "select") {
    const chosen = old.value;
    if (old.innerHTML !== now.innerHTML) old.replaceChildren(...[...now.childNodes].map((one) => document.importNode(one, true)));
    old.value = own(old) ? chosen : after;
  } else if (old.type === "radio" || old.type === "checkbox") {
    old.setAttribute("value", after);
    if (!own(old)) old.checked = now.hasAttribute("checked");
    return;
  } else if (!own(old) && old.localName === "textarea") {
    old.defaultValue = after;
    if (old.value !== after) old.value = after; // what is selected in it stays selected
  } else if (!own(old) && old.type !== "file") {
    old.setAttribute("value", after);
    if (old.value !== after) old.value = after;
  }
  if (dirty(old) && before !== after) {
    // Changed elsewhere while it was being typed in: both are shown, and nobody's is taken without being asked for.
    old.dataset.was = after;
    old.dispatchEvent(new CustomEvent("desk:clash", { bubbles: true, detail: { now: after } }));
  }
}
