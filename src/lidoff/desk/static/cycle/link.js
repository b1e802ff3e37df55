// One question on its way at a time; of those that come meanwhile only the newest is kept. DOM-free.

const STRENGTH = { set: 0, rest: 1, open: 2 };

// `send` is given {do, tag, …}. Tags count every question, those that are never sent as well, so that an answer with a
// tag shows everything asked up to it.
export function newest(send) {
  let tag = 0, flying = null, waiting = null;
  function go(question) { flying = question.tag; send(question); }
  return {
    // Asks; gives the tag whose answer shows it.
    ask(question) {
      tag += 1;
      const asked = { ...question, tag };
      if (flying === null) go(asked);
      // What must not be lost with the question it came with: a start from rest, another state.
      else if (waiting && STRENGTH[waiting.do] > STRENGTH[asked.do]) waiting = { ...asked, do: waiting.do, state: waiting.state };
      else waiting = asked;
      return tag;
    },
    // To be called with the tag of each answer, good or not.
    answered(which) {
      if (which !== flying) return;
      flying = null;
      if (waiting) { const next = waiting; waiting = null; go(next); }
    },
    // The connection is gone, and with it whatever was on its way.
    forget() { flying = null; waiting = null; },
    get busy() { return flying !== null; },
  };
}
