// The newest of what comes, shown at once, but no more than once in a frame of the screen. DOM-free.

// `show` is given one thing at a time; `later` calls a function at the next frame.
export function paced(show, later = requestAnimationFrame) {
  let shownNow = false, waiting = null;
  function frame() {
    shownNow = false;
    if (waiting) { const next = waiting; waiting = null; go(next); }
  }
  function go(one) {
    shownNow = true;
    later(frame);
    show(one);
  }
  return {
    come(one) { if (shownNow) waiting = one; else go(one); },
    // What waits is not to be shown any more.
    drop() { waiting = null; },
  };
}
