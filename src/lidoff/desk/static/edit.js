// Edits: sent one after the other, each with the revision that the page shows, and drawn when they are saved.
import { ask, say } from "./ask.js";
import { redraw, saved } from "./redraw.js";

let last = Promise.resolve();

// Saves changes ([{do: "set", name: "R1.value", value: "4k7"}, …], see desk/edits.py); `what` is said when it is undone.
// Gives {ok, sentence, revision, problems}. The page is drawn anew unless `draw` is false.
export function edit(changes, what, { draw = true } = {}) {
  return post("edit", { changes, what }, draw);
}

// "undo" or "redo". What it did may stand on another page of the item, so it is said.
export async function step(which) {
  const answer = await post(which, {}, true);
  if (answer.ok) say(which === "undo" ? `Undone: ${answer.redo}.` : `Done again: ${answer.undo}.`, { confirms: true });
  return answer;
}

// Any request of this item's that changes the record and answers with its revision.
export function post(which, body, draw) {
  last = last.then(async () => {
    const answer = await ask(`${document.body.dataset.item}/${which}`, { ...body, revision: document.body.dataset.revision });
    if (answer.ok) {
      if (answer.revision) saved(answer.revision);
      say(""); // what was said of an edit before no longer holds
      if (draw) await redraw();
      document.dispatchEvent(new CustomEvent("desk:saved", { detail: answer }));
    } else {
      if (answer.status === 409) await redraw();
      say(answer.sentence);
    }
    return answer;
  });
  return last;
}
