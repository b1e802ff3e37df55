// Light or dark: as the machine is set, unless the reader chose otherwise here.
const KEY = "lidoff-scheme";
const WORDS = { "": "Light or dark: as the machine", light: "Light", dark: "Dark" };

function kept() {
  try { return localStorage.getItem(KEY) || ""; } catch { return ""; }
}

function apply(scheme) {
  if (scheme) document.documentElement.dataset.scheme = scheme;
  else delete document.documentElement.dataset.scheme;
}

apply(kept());
addEventListener("DOMContentLoaded", () => {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "scheme";
  const name = () => { button.textContent = { "": "Light or dark", light: "Light", dark: "Dark" }[kept()]; button.title = WORDS[kept()]; };
  button.addEventListener("click", () => {
    const next = { "": "dark", dark: "light", light: "" }[kept()];
    try { localStorage.setItem(KEY, next); } catch { /* a browser that keeps nothing follows the machine */ }
    apply(next);
    name();
  });
  name();
  document.querySelector("header.top")?.append(button);
});
