// Curves as paths, and their values at an instant. DOM-free.

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

// Each of these adds to a path that has moveTo, lineTo and closePath, as a canvas has.

// A wave: x from `left` over `width` for times from 0 to `end`, y upward from `zero` by `rise` a unit. Points nearer to
// the last one than a fifth of a unit are left out.
export function line(path, time, wave, { left, width, end, zero, rise }) {
  const across = width / end;
  let lastX = NaN, lastY = NaN;
  for (let k = 0; k < time.length; k++) {
    const x = left + time[k] * across, y = zero - wave[k] * rise;
    if (Math.abs(x - lastX) < 0.2 && Math.abs(y - lastY) < 0.2) continue;
    if (lastX === lastX) path.lineTo(x, y); else path.moveTo(x, y);
    lastX = x; lastY = y;
  }
}

// The same as an area down to `zero`.
export function area(path, time, wave, place) {
  line(path, time, wave, place);
  path.lineTo(place.left + place.width, place.zero);
  path.lineTo(place.left, place.zero);
  path.closePath();
}

// A closed curve round a middle, clockwise from the top, over the first `end` seconds.
export function ring(path, time, radius, { x, y, end }) {
  const last = before(time, end * (1 + 1e-6)), round = (2 * Math.PI) / end;
  for (let k = 0; k <= last; k++) {
    const turn = time[k] * round, r = radius(k), toX = x + r * Math.sin(turn), toY = y - r * Math.cos(turn);
    if (k) path.lineTo(toX, toY); else path.moveTo(toX, toY);
  }
  path.closePath();
}

// A band round a middle, as thick as the wave is large on the side of `sign`; to be filled even-odd.
export function band(path, time, wave, sign, { x, y, end, zero, reach }) {
  const thick = (k) => Math.max(sign * wave[k], 0) * reach;
  ring(path, time, (k) => zero + thick(k), { x, y, end });
  ring(path, time, (k) => zero - thick(k), { x, y, end });
}

// Whether a wave's magnitude is above a level for more than half a percent of the time.
export function lasts(time, wave, level) {
  const last = time.length - 1;
  let twice = 0; // each point has half of the steps on both its sides
  for (let k = 0; k <= last; k++) if (Math.abs(wave[k]) > level) twice += time[Math.min(k + 1, last)] - time[Math.max(k - 1, 0)];
  return twice > 0.01 * time[last];
}

// The largest magnitude that lasts so long, to a millionth of the largest there is.
export function lasting(time, wave) {
  if (!(time[time.length - 1] > 0)) return Math.abs(wave[0]);
  let low = 0, high = largest(wave);
  if (!lasts(time, wave, 0)) return 0;
  for (let step = 0; step < 20; step++) { const middle = (low + high) / 2; if (lasts(time, wave, middle)) low = middle; else high = middle; }
  return high;
}

export function largest(wave) {
  let most = 0;
  for (let k = 0; k < wave.length; k++) { const size = Math.abs(wave[k]); if (size > most) most = size; }
  return most;
}

// A current that is a sum of rows at an instant: `mix` is [[row, factor], …]; `times` has what else a row counts.
export function mixed(frame, mix, t, place, times) {
  let sum = 0;
  for (const [row, factor] of mix) sum += factor * (times?.get(row) ?? 1) * value(frame.time, frame.row(row), t, place);
  return sum;
}
