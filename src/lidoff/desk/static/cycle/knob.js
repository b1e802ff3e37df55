// A knob as a clock face: from 7 o'clock at one end to 5 o'clock at the other. DOM-free.

export const SWEEP = 300;
export const START = -150; // [degrees clockwise from 12 o'clock]

const clamp = (value) => Math.min(1, Math.max(0, value));

// How far a knob is turned clockwise (0 to 1) at a wiper position, and back. Position 0 is the wiper at pin a.
export const shareOf = (position, clockwise) => (clockwise === "a" ? 1 - position : position);
export const positionOf = (share, clockwise) => Number((clockwise === "a" ? 1 - share : share).toFixed(4));

export const angleOf = (share) => START + SWEEP * share;

// Where the pointer stands, in words: "7 o'clock", "half past 2".
export function clock(share) {
  const half = Math.round((angleOf(clamp(share)) + 360) / 15) % 24;
  const hour = Math.floor(half / 2) || 12;
  return half % 2 ? `half past ${hour}` : `${hour} o’clock`;
}

// The angle of a point as seen from the middle [degrees clockwise from 12 o'clock].
export const bearing = (dx, dy) => (Math.atan2(dx, -dy) * 180) / Math.PI;

// The share after the finger went round from one bearing to another: the short way, so that it never jumps.
export function turned(share, from, to) {
  const way = ((((to - from) % 360) + 540) % 360) - 180;
  return clamp(share + way / SWEEP);
}

const STEPS = { ArrowUp: 0.01, ArrowRight: 0.01, ArrowDown: -0.01, ArrowLeft: -0.01, PageUp: 0.1, PageDown: -0.1 };

// The share after a key, null for a key that turns nothing. Hour marks are a thirtieth of the sweep apart.
export function keyed(share, key) {
  if (key === "Home") return 0;
  if (key === "End") return 1;
  return key in STEPS ? clamp(share + STEPS[key]) : null;
}

// And after the wheel: away from the reader is clockwise.
export const wheeled = (share, delta) => clamp(share - Math.sign(delta) * Math.min(0.02, Math.abs(delta) / 4000 + 0.005));

// A ray from the middle, as coordinates of its two ends.
export function ray(x, y, inner, outer, degrees) {
  const a = (degrees * Math.PI) / 180, sin = Math.sin(a), cos = Math.cos(a);
  return { x1: x + inner * sin, y1: y - inner * cos, x2: x + outer * sin, y2: y - outer * cos };
}
