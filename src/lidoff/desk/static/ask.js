// Asks the desk for something and gives {ok, status, ...answer}; a failure is a sentence, never an exception.
export async function ask(address, body) {
  try {
    const response = await fetch(address, {
      method: "POST",
      headers: { "content-type": "application/json", accept: "application/json" },
      body: JSON.stringify(body),
    });
    const answer = await response.json().catch(() => ({ sentence: "The desk gave no answer that can be read." }));
    return { ...answer, ok: response.ok, status: response.status };
  } catch {
    return { ok: false, status: 0, sentence: "The desk does not answer: is it still running in the terminal? What you typed is still here." };
  }
}

// Says a short sentence to everybody, those who listen to the page included.
export function say(sentence) {
  const told = document.getElementById("told");
  if (told) told.textContent = sentence;
}

// A sentence that stays at the top of the page until it no longer holds; an empty one takes it away.
export function notice(sentence) {
  const place = document.getElementById("notice");
  if (!place) return;
  place.textContent = sentence;
  place.hidden = !sentence;
}
