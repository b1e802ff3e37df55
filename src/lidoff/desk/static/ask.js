// Asks the desk for something and gives {ok, status, ...answer}; a failure is a sentence, never an exception.
export async function ask(address, body) {
  try {
    const response = await fetch(address, {
      method: "POST",
      keepalive: true, // what was typed is saved though the page is being left
      headers: { "content-type": "application/json", accept: "application/json" },
      body: JSON.stringify(body),
    });
    const unread = response.status === 403
      ? "The desk does not know this window any more: open the link that it printed in the terminal, then save again."
      : "The desk gave no answer that can be read.";
    const answer = await response.json().catch(() => ({ sentence: unread }));
    return { ...answer, ok: response.ok, status: response.status };
  } catch {
    return { ok: false, status: 0, sentence: "The desk does not answer: is it still running in the terminal? What you typed is still here." };
  }
}

// Says a short sentence to everybody, those who listen to the page included; one that only confirms goes away by itself.
let gone;
export function say(sentence, { confirms = false } = {}) {
  const told = document.getElementById("told");
  clearTimeout(gone);
  if (told) told.textContent = sentence;
  if (told && confirms) gone = setTimeout(() => { told.textContent = ""; }, 6000);
}

// A sentence that stays at the top of the page until it no longer holds; an empty one takes it away.
export function notice(sentence) {
  const place = document.getElementById("notice");
  if (!place) return;
  place.textContent = sentence;
  place.hidden = !sentence;
}
