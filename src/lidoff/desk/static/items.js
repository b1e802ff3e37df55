import { ask, say } from "./ask.js";

async function go(address, body) {
  const answer = await ask(address, body);
  if (answer.ok) location.assign(answer.address);
  else say(answer.sentence);
}

document.getElementById("start").addEventListener("submit", (event) => {
  event.preventDefault();
  go("/start", { title: event.target.elements.title.value });
});
for (const button of document.querySelectorAll("[data-example]")) {
  button.addEventListener("click", () => go("/example", { name: button.dataset.example }));
}

document.documentElement.dataset.ready = ""; // for whoever waits for the scripts
