// Goals of a rework: they stand in the address, so that they can be kept and gone back to.
import { ask, say } from "./ask.js";

const goals = () => new URLSearchParams(location.search).getAll("goal");

function go(list) {
  const query = new URLSearchParams(list.map((goal) => ["goal", goal]));
  location.assign(`${location.pathname}?${query}#goal`);
}

document.getElementById("goals").addEventListener("submit", (event) => {
  event.preventDefault();
  const goal = document.getElementById("goal").value.trim();
  if (goal) go([...goals(), goal]);
});
document.addEventListener("click", async (event) => {
  const button = event.target.closest?.("button");
  if (button?.dataset.goal) { const line = document.getElementById("goal"); line.value = button.dataset.goal; line.focus(); }
  else if (button?.dataset.less) go(goals().filter((goal) => goal !== button.dataset.less));
  else if (button?.dataset.keepDesign) {
    button.disabled = true;
    const answer = await ask(`${document.body.dataset.item}/rework/keep`, { goals: goals(), place: Number(button.dataset.keepDesign) });
    button.disabled = false;
    if (answer.ok) location.assign(answer.address); else say(answer.sentence);
  }
});
