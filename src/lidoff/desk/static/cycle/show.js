// Numbers as people read them, with the prefix that suits. DOM-free. The rules are those of quantity/showing.py.

const PREFIXES = [[-12, "p"], [-9, "n"], [-6, "µ"], [-3, "m"], [0, ""], [3, "k"], [6, "M"], [9, "G"]];
const OF_UNIT = { W: "nµmkM", A: "pnµmk", V: "nµmkM", VA: "mkM", Hz: "mkM" };

// {number, unit} of a value to so many figures; a dash where there is none.
export function figure(value, unit, digits = 3) {
  if (!Number.isFinite(value)) return { number: "–", unit: "" };
  if (unit === "%" || unit === "share") {
    const percent = unit === "share" ? value * 100 : value;
    return { number: sign(Math.abs(percent) < 0.05 ? "0" : trimmed(percent, Math.abs(percent) < 10 ? 1 : 0)), unit: "%" };
  }
  if (value === 0) return { number: "0", unit };
  const rounded = Number(value.toPrecision(digits));
  const allowed = PREFIXES.filter(([power, prefix]) => power === 0 || (OF_UNIT[unit] ?? "").includes(prefix));
  let best = allowed[0];
  for (const one of allowed) if (Math.abs(rounded) >= 10 ** one[0] * (1 - 1e-12)) best = one;
  const scaled = rounded / 10 ** best[0];
  const places = Math.max(0, digits - 1 - Math.floor(Math.log10(Math.abs(scaled)) + 1e-12));
  return { number: sign(scaled.toFixed(places)), unit: best[1] + unit };
}

export function words(value, unit, digits = 3) {
  const { number, unit: shown } = figure(value, unit, digits);
  return shown ? `${number} ${shown}` : number;
}

// A value at an instant: what is next to nothing beside the largest that occurs is nothing.
export function instant(value, unit, most) {
  return Math.abs(value) < Math.max(most * 1e-3, 1e-9) ? `0 ${unit}` : words(value, unit);
}

// How one figure differs from another, in its unit and as a share.
export function difference(before, now, unit) {
  if (!Number.isFinite(before) || !Number.isFinite(now)) return "–";
  const by = now - before;
  if (Math.abs(by) <= 5e-4 * Math.max(Math.abs(before), Math.abs(now))) return "the same";
  const { number, unit: shown } = figure(Math.abs(by), unit, 2);
  const way = by > 0 ? "+" : "−";
  const share = unit === "%" || unit === "share" || Math.abs(before) < 1e-12 ? "" : ` (${way}${trimmed(Math.abs(by / before) * 100, Math.abs(by / before) < 0.1 ? 1 : 0)} %)`;
  return `${way}${number}${shown ? ` ${unit === "%" || unit === "share" ? "points" : shown}` : ""}${share}`;
}

const sign = (text) => text.replace("-", "−");
const trimmed = (value, places) => { const text = value.toFixed(places); return text.includes(".") ? text.replace(/\.?0+$/, "") : text; };
