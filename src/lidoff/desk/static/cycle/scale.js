// Round scales that stay as they are while a knob is turned, as long as the curve is neither cut off nor lost. DOM-free.

const ROUND = [1, 1.5, 2, 3, 4, 5, 6, 8, 10];

// The smallest round number that is not below a positive value.
export function roundAbove(value) {
  const power = 10 ** Math.floor(Math.log10(value));
  return (ROUND.find((one) => one * power >= value * (1 - 1e-6)) ?? 10) * power;
}

// The scale for a peak, given the one that stands: it grows at once, and shrinks when less than a quarter is used.
export function follow(top, peak) {
  if (!(peak > 0)) return top || 1;
  return peak > top || peak < top / 4 ? roundAbove(peak * 1.02) : top;
}

// How thick a line is drawn for a current: nothing below a hundredth of the largest, then from thin to thick.
export function weight(amps, most) {
  const share = most > 0 ? Math.min(Math.abs(amps) / most, 1) : 0;
  return share < 0.01 ? 0 : 1.6 + 4.9 * share;
}
