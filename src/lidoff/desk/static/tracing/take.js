// Taking the trace over into the record: the change is shown first, and made when it is agreed to.
import { post } from "../edit.js";
import { say } from "../ask.js";

export function taking(root, base) {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  const place = $("offer"), before = $("offer-replace");

  async function show() {
    const response = await fetch(`${base}/offer${before.checked ? "?replace=1" : ""}`, { headers: { accept: "application/json" } });
    const offer = await response.json().catch(() => ({ sentence: "The desk gave no answer that can be read." }));
    if (!response.ok) { say(offer.sentence); return; }
    place.hidden = false;
    $("offer-none").hidden = offer.changes.length > 0;
    $("offer-table").hidden = $("offer-take").hidden = offer.changes.length === 0;
    $("offer-table").querySelector("tbody").replaceChildren(...offer.changes.flatMap(({ part, pins }) => pins.map((one, number) => {
      const line = document.createElement("tr");
      const cells = [["Pin", `${part}.${one.pin}`], ["Now", one.before || "nothing"], ["From the trace", one.after]];
      for (const [label, words] of cells) { const cell = line.insertCell(); cell.dataset.label = label; cell.textContent = words; }
      if (one.before !== one.after) line.lastElementChild.className = "tracing-new";
      if (number === 0) line.className = "tracing-part";
      return line;
    })));
    list("disagree", offer.disagreements);
    list("lacks", offer.missing);
    $("offer-lines").textContent = offer.lines.join("\n");
    $("offer-lines").closest("details").hidden = offer.lines.length === 0;
  }

  function list(name, sentences) {
    const part = $(`offer-${name}`);
    part.hidden = sentences.length === 0;
    part.querySelector("ul").replaceChildren(...sentences.map((words) => { const one = document.createElement("li"); one.textContent = words; return one; }));
  }

  $("offer-show").addEventListener("click", show);
  before.addEventListener("change", show);
  $("offer-take").addEventListener("click", async () => {
    const answer = await post("tracing/take-over", { replace: before.checked }, true);
    if (!answer.ok) return;
    say("The nodes stand in the record now. Undo, at the top of the page, takes that back.");
    await show();
  });
  // Undone, done again, or changed elsewhere: what was shown is no longer what would happen.
  document.addEventListener("desk:drawn", () => { if (!place.hidden) show(); });
}
