// Values in letter code (IEC 60062) and the next one of the E12 series. DOM-free.

// E12: IEC 60063:2015, table 1 (from memory).
const E12 = [1, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2];
const FACTORS = { p: 1e-12, n: 1e-9, u: 1e-6, "µ": 1e-6, m: 1e-3, R: 1, k: 1e3, K: 1e3, M: 1e6, G: 1e9 };
const LETTERS = { ohm: [["R", 1], ["k", 1e3], ["M", 1e6], ["G", 1e9]], F: [["p", 1e-12], ["n", 1e-9], ["u", 1e-6], ["m", 1e-3]], H: [["u", 1e-6], ["m", 1e-3], ["H", 1]] };

// "4k7" and the like as a number, null where it is written otherwise.
export function read(text) {
  const match = /^\s*(\d*)(?:\.(\d+))?\s*([pnuµmRkKMGH])(\d*)\s*$/.exec(text);
  if (!match || !(match[1] || match[4]) || (match[2] && match[4])) return null;
  const [, whole, decimals, letter, part] = match;
  return Number(`${whole || 0}.${decimals || part || 0}`) * (letter === "H" ? 1 : FACTORS[letter]);
}

export function write(value, unit) {
  let [letter, factor] = LETTERS[unit][0];
  for (const one of LETTERS[unit]) if (value >= one[1] * (1 - 1e-9)) [letter, factor] = one;
  const [whole, part = ""] = String(Number((value / factor).toPrecision(4))).split(".");
  return `${whole}${letter}${part}`;
}

// What is written for the next value of the series above (way 1) or below (-1); null where that cannot be told. Of whole
// numbers, the one after or before.
export function next(text, unit, way, whole = false) {
  if (whole) return Number(text) > 0 ? String(Math.max(1, Math.round(Number(text)) + way)) : null;
  const value = unit in LETTERS ? read(text) : null;
  if (!(value > 0)) return null;
  const power = Math.floor(Math.log10(value) + 1e-9);
  const all = [power - 1, power, power + 1].flatMap((one) => E12.map((step) => step * 10 ** one));
  const found = way > 0 ? all.find((one) => one > value * 1.001) : all.findLast((one) => one < value * 0.999);
  return write(found, unit);
}
