// Mouse, fingers and keys on the photo: moved and made larger, and what is set, moved and chosen on it.
import * as geometry from "./geometry.js";

const REACH = 14; // px about a pad or line that still means it
const FINGER = 24; // the same for a finger
const STEP = 60; // px that an arrow key moves the photo
const LONG = 450; // ms that a finger rests until the far side is seen through the board

// `hands(stage, place, tools)`: tools.mode() is the tool in hand; tools.tap(point, found), tools.drag(what, which, to),
// tools.boxed(box) are told what was done with it; tools.through(on) shows the far side, and says whether there is one.
export function hands(stage, place, tools) {
  const fingers = new Map();
  let doing = null, rest = null;

  const at = (event) => { const { left, top } = place.getBoundingClientRect(); return [event.clientX - left, event.clientY - top]; };
  const board = (screen) => geometry.toBoard(stage.held.view, screen);
  const reach = () => (finger ? FINGER : REACH) / stage.held.view.scale;
  let finger = false;

  // What lies under a point of the board, by the tool in hand.
  function found(point, mode) {
    const { state, lines } = stage.held;
    const pad = geometry.nearest(state.pads, point, reach());
    if (mode === "hole") { const hole = geometry.nearest(state.holes, point, reach()); return hole >= 0 ? { what: "hole", which: hole } : null; }
    if (mode === "body") { const body = geometry.inside(state.bodies, point); return body >= 0 ? { what: "body", which: body } : null; }
    if (pad >= 0) return { what: "pad", which: pad };
    if (mode !== "look") return null;
    const wire = geometry.nearestLine(state.wires.map((one) => wireLine(one)), point, reach());
    if (wire >= 0) return { what: "wire", which: wire };
    const join = geometry.nearestLine(lines, point, reach());
    if (join >= 0) return { what: "join", which: join };
    const body = geometry.inside(state.bodies, point);
    return body >= 0 ? { what: "body", which: body } : null;
  }

  function wireLine(one) {
    const a = stage.pad(one.a), b = stage.pad(one.b);
    if (!a || !b) return [];
    const [from, through, to] = geometry.bow([a.x, a.y], [b.x, b.y]);
    return [from, [(from[0] + 2 * through[0] + to[0]) / 4, (from[1] + 2 * through[1] + to[1]) / 4], to];
  }

  place.addEventListener("pointerdown", (event) => {
    if (!stage.held.state?.board || event.button > 0) return;
    place.setPointerCapture(event.pointerId);
    place.focus({ preventScroll: true, focusVisible: false });
    stage.held.cross = false;
    const here = at(event);
    finger = event.pointerType === "touch";
    fingers.set(event.pointerId, here);
    clearTimeout(rest);
    if (doing?.through) tools.through(false);
    if (fingers.size === 2) { doing = { pinch: [...fingers.values()] }; stage.held.draft = tools.draft(); stage.draw(); return; }
    const mode = tools.mode(), point = board(here), it = found(point, mode);
    if (mode === "body" && !it) doing = { box: point, from: here };
    else if (it && it.what === mode) doing = { drag: it, from: here };
    else doing = { pan: here, from: here, it };
    const rested = doing;
    if (finger) rest = setTimeout(() => { if (doing === rested && !rested.moved && tools.through(true)) rested.through = true; }, LONG);
  });

  place.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId) || !doing) return;
    const here = at(event);
    fingers.set(event.pointerId, here);
    if (doing.pinch) {
      if (fingers.size < 2) return;
      const now = [...fingers.values()];
      stage.look(geometry.pinched(stage.held.view, doing.pinch, now, stage.limits()));
      doing.pinch = now;
      return;
    }
    const far = Math.hypot(here[0] - doing.from[0], here[1] - doing.from[1]);
    // A finger that rests is never quite still.
    if (far > (finger ? 9 : 4)) doing.moved = true;
    if (!doing.moved || doing.through) return;
    if (doing.pan) { stage.look(geometry.moved(stage.held.view, here[0] - doing.pan[0], here[1] - doing.pan[1])); doing.pan = here; }
    else if (doing.box) { stage.held.draft = { box: geometry.box(doing.box, board(here)) }; stage.draw(); }
    else if (doing.drag) tools.dragging(doing.drag, board(here));
  });

  const end = (event) => {
    if (!fingers.delete(event.pointerId) || !doing) return;
    const here = at(event), did = doing;
    if (did.pinch) { if (fingers.size === 0) doing = null; return; }
    doing = null;
    clearTimeout(rest);
    if (did.through) { tools.through(false); return; }
    if (event.type === "pointercancel") { stage.held.draft = tools.draft(); tools.dropped(); stage.draw(); return; }
    if (!did.moved) { tools.tap(board(here), did.it ?? did.drag ?? null); return; }
    if (did.box) tools.boxed(geometry.box(did.box, board(here)));
    else if (did.drag) tools.dragged(did.drag, board(here));
  };
  place.addEventListener("pointerup", end);
  place.addEventListener("pointercancel", end);
  place.addEventListener("contextmenu", (event) => { if (finger) event.preventDefault(); });

  place.addEventListener("wheel", (event) => {
    if (!stage.held.state?.board) return;
    event.preventDefault();
    const lines = event.deltaMode === 1 ? 16 : 1;
    stage.look(geometry.zoomed(stage.held.view, at(event), Math.exp(-event.deltaY * lines * 0.0016), stage.limits()));
  }, { passive: false });

  let corner = null; // of a box that is being set by keys
  place.addEventListener("keydown", (event) => {
    if (!stage.held.state?.board || event.ctrlKey || event.metaKey || event.altKey || event.target !== place) return;
    const middle = stage.held.size.map((one) => one / 2);
    finger = false;
    const arrow = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (arrow && event.shiftKey && tools.nudge(-arrow[0] * 0.1, -arrow[1] * 0.1)) { /* the chosen thing moved */ }
    else if (arrow) stage.look(geometry.moved(stage.held.view, arrow[0] * STEP, arrow[1] * STEP));
    else if (event.key === "+" || event.key === "=") stage.look(geometry.zoomed(stage.held.view, middle, 1.25, stage.limits()));
    else if (event.key === "-") stage.look(geometry.zoomed(stage.held.view, middle, 0.8, stage.limits()));
    else if (event.key === "0") stage.whole();
    else if (event.key === "Enter" && !event.repeat) {
      const point = board(middle), mode = tools.mode(), it = found(point, mode);
      if (mode === "body" && !it && !corner) { corner = point; stage.held.draft = { points: [point] }; }
      else if (mode === "body" && corner) { tools.boxed(geometry.box(corner, point)); corner = null; }
      else tools.tap(point, it);
    } else if (event.key === "Delete" || event.key === "Backspace") tools.remove();
    else if (event.key === "Escape") { corner = null; tools.leave(); }
    else if (event.key === "," || event.key === ".") tools.next(event.key === "." ? 1 : -1);
    else return;
    stage.held.cross = true;
    event.preventDefault();
    stage.draw();
  });
  place.addEventListener("blur", () => { stage.held.cross = false; stage.draw(); });
  place.addEventListener("focus", () => { if (place.matches(":focus-visible")) { stage.held.cross = true; stage.draw(); } });
}
