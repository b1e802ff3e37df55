// A knob that is drawn, turned by hand, and says where it stands. In a picture of its own, or within the schematic.
import { held } from "./hand.js";
import { angleOf, bearing, clock, keyed, positionOf, ray, shareOf, turned, wheeled } from "./knob.js";
import { make, put, set } from "./svg.js";

// Draws into `group` around (x, y). `moved` is called with the wiper position whenever it is turned.
// Gives {show(position)}.
export function drawKnob(group, { x, y, radius, knob, label, moved }) {
  let share = shareOf(knob.position, knob.clockwise);
  const face = make("circle", { cx: x, cy: y, r: radius, class: "knob-face" });
  const pointer = make("line", { class: "knob-pointer", ...ray(x, y, radius * 0.3, radius * 0.92, 0) });
  const track = make("path", { class: "knob-track" });
  const way = make("path", { class: "knob-way" });
  const marks = Array.from({ length: 11 }, (_, k) => make("line", { class: "knob-mark", ...ray(x, y, radius * 1.14, radius * (k % 5 ? 1.24 : 1.36), angleOf(k / 10)) }));
  // A finger needs more than the face to hold on to.
  const hold = make("circle", { cx: x, cy: y, r: radius * 1.5, class: "knob-hold" });
  group.append(track, way, ...marks, face, pointer, hold);
  set(group, { role: "slider", tabindex: "0", "aria-label": label, "aria-valuemin": "0", "aria-valuemax": "100", class: "knob" });

  function show() {
    put(pointer, "transform", `rotate(${angleOf(share).toFixed(1)} ${x} ${y})`);
    put(group, "aria-valuenow", String(Math.round(share * 100)));
    put(group, "aria-valuetext", `${clock(share)}, ${Math.round(share * 100)} % clockwise`);
  }

  function turn(to) {
    if (to === share) return;
    share = to;
    show();
    moved(positionOf(share, knob.clockwise));
  }

  // A finger on a knob turns it and does not scroll the page.
  group.addEventListener("touchstart", (event) => event.preventDefault(), { passive: false });
  let from = null;
  held(group, {
    laid(at, event) {
      event.preventDefault();
      group.focus({ preventScroll: true });
      from = at;
    },
    moved([px, py]) {
      // Close to the middle a small move would be half a turn.
      if (Math.hypot(px - x, py - y) > radius * 0.25 && Math.hypot(from[0] - x, from[1] - y) > radius * 0.25) {
        turn(turned(share, bearing(from[0] - x, from[1] - y), bearing(px - x, py - y)));
      }
      from = [px, py];
    },
  });
  group.addEventListener("wheel", (event) => { event.preventDefault(); turn(wheeled(share, event.deltaY)); }, { passive: false });
  group.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const to = keyed(share, event.key);
    if (to === null) return;
    event.preventDefault();
    turn(to);
  });
  show();
  return { show(position) { share = shareOf(position, knob.clockwise); show(); } };
}
