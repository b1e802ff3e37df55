// One key, or a pedal: pressed and let go is yes, held down is no. DOM-free; time and timers are given.
//
// A key that repeats by itself while it is held says nothing, and for a moment after an answer nothing is taken: a foot
// that bounces answers once.
export function pedal({ yes, no, holding = () => {}, hold = 600, rest = 120, now, after, cancel }) {
  let since = null, timer = null, quietUntil = -Infinity;
  const done = (answer) => { quietUntil = now() + rest; since = null; holding(false); answer(); };
  return {
    down(repeat) {
      if (repeat || since !== null || now() < quietUntil) return;
      since = now();
      holding(true);
      timer = after(() => { timer = null; done(no); }, hold);
    },
    up() {
      if (timer === null) return;
      cancel(timer);
      timer = null;
      done(yes);
    },
    // The window lost the keyboard, or the question went away, while it was down.
    drop() {
      if (timer !== null) cancel(timer);
      timer = null;
      since = null;
      holding(false);
    },
  };
}

// The keys that a pedal with one tread types, by its make.
export const TREAD = new Set([" ", "Enter", "PageDown"]);

// What a key means to the question in hand; null for any other key.
const KEYS = {
  n: { joined: false, by: "user" }, N: { joined: false, by: "user" },
  PageUp: { joined: false, by: null }, // the other tread of a pedal with two
  y: { joined: true, by: "user" }, Y: { joined: true, by: "user" },
  m: { joined: true, by: "continuity" }, M: { joined: true, by: "continuity" },
  o: { joined: false, by: "continuity" }, O: { joined: false, by: "continuity" },
};
export const meaning = (key) => (Object.hasOwn(KEYS, key) ? KEYS[key] : null);
