// Curves as paths of an SVG, and their values at an instant. DOM-free.

// The place of the last point not after `t` in rising times.
export function before(time, t) {
  let low = 0, high = time.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time[middle] <= t) low = middle; else high = middle - 1;
  }
  return low;
}

// A wave's value at an instant, in a straight line between its points; `place` is what `before` gave.
export function value(time, wave, t, place = before(time, t)) {
  const next = Math.min(place + 1, time.length - 1);
  const span = time[next] - time[place];
  return span > 0 ? wave[place] + ((wave[next] - wave[place]) * (t - time[place])) / span : wave[place];
}

const tenth = (number) => Math.round(number * 10) / 10;

// The path of a wave: x from `left` over `width` for times from 0 to `end`, y upward from `zero` by `rise` a unit.
// Points that lie in the same tenth of a unit as the last one are left out.
export function line(time, wave, { left, width, end, zero, rise }) {
  let d = "", lastX = NaN, lastY = NaN;
  for (let k = 0; k < time.length; k++) {
    const x = tenth(left + (time[k] / end) * width), y = tenth(zero - wave[k] * rise);
    if (x === lastX && y === lastY) continue;
    d += `${d ? "L" : "M"}${x},${y}`;
    lastX = x; lastY = y;
  }
  return d;
}

// The same as an area down to `zero`.
export function area(time, wave, place) {
  const d = line(time, wave, place);
  return d && `${d}L${tenth(place.left + place.width)},${place.zero}L${place.left},${place.zero}Z`;
}

// A closed curve round a middle, clockwise from the top, over the first `end` seconds.
export function ring(time, radius, { x, y, end }) {
  let d = "";
  const last = before(time, end * (1 + 1e-6));
  for (let k = 0; k <= last; k++) {
    const turn = (2 * Math.PI * time[k]) / end, r = radius(k);
    d += `${d ? "L" : "M"}${tenth(x + r * Math.sin(turn))},${tenth(y - r * Math.cos(turn))}`;
  }
  return `${d}Z`;
}

// A band round a middle, as thick as the wave is large on the side of `sign`; to be filled even-odd.
export function band(time, wave, sign, { x, y, end, zero, reach }) {
  const thick = (k) => Math.max(sign * wave[k], 0) * reach;
  return ring(time, (k) => zero + thick(k), { x, y, end }) + ring(time, (k) => zero - thick(k), { x, y, end });
}

// An arc of a circle between two angles [degrees clockwise from the top].
export function arc(x, y, radius, from, to) {
  const point = (degrees) => { const a = (degrees * Math.PI) / 180; return `${tenth(x + radius * Math.sin(a))},${tenth(y - radius * Math.cos(a))}`; };
  const bow = (large) => `A${tenth(radius)},${tenth(radius)} 0 ${large} 1 `;
  if (to - from >= 359.9) return `M${point(from)}${bow(1)}${point(from + 180)}${bow(1)}${point(from)}`;
  return `M${point(from)}${bow(to - from > 180 ? 1 : 0)}${point(to)}`;
}

// The largest magnitude of a wave that lasts: what is exceeded for half a percent of the time or less does not count.
export function lasting(time, wave) {
  const end = time[time.length - 1];
  if (!(end > 0)) return Math.abs(wave[0]);
  const order = Array.from(wave, (_, k) => k).sort((a, b) => Math.abs(wave[b]) - Math.abs(wave[a]));
  let spent = 0;
  for (const k of order) {
    spent += (time[Math.min(k + 1, time.length - 1)] - time[Math.max(k - 1, 0)]) / 2;
    if (spent > 0.005 * end) return Math.abs(wave[k]);
  }
  return 0;
}

export function largest(wave) {
  let most = 0;
  for (let k = 0; k < wave.length; k++) { const size = Math.abs(wave[k]); if (size > most) most = size; }
  return most;
}

// A current that is a sum of rows at an instant: `mix` is [[row, factor], …].
export function mixed(frame, mix, t, place) {
  let sum = 0;
  for (const [row, factor] of mix) sum += factor * value(frame.time, frame.row(row), t, place);
  return sum;
}
