// What is said of pads and joins. DOM-free.

const PINS = { plus: "plus", minus: "minus", ac1: "A C one", ac2: "A C two" };

// A pad as it is read out: "R1.2" as "R1, pin 2".
export function spoken(title) {
  const dot = title.lastIndexOf(".");
  if (dot < 0) return `pad ${title.replace(/^P0*(?=\d)/, "")}`;
  const pin = title.slice(dot + 1);
  return `${title.slice(0, dot)}, ${PINS[pin] ?? (/^\d+$/.test(pin) ? `pin ${pin}` : pin)}`;
}

export const question = (a, b) => `Are ${a} and ${b} joined?`;
export const aloud = (a, b) => `${spoken(a)}, and ${spoken(b)}: joined?`;

// What is spoken when a question comes up: what was just answered, if anything was, then the question or that it was the last.
export function announced(answered, asked) {
  const before = answered === null ? "" : answered ? "Joined. " : "Not joined. ";
  return before + (asked ?? "Nothing more is in doubt.");
}

const KNOWN = {
  accepted: "joined, as the picture shows", doubtful: "in doubt",
  "answered-yes": "joined", "answered-no": "not joined",
};
// How a join stands, in words.
export function standing(join) {
  if (!join.status.startsWith("answered")) return KNOWN[join.status];
  return `${KNOWN[join.status]}, ${join.why === "continuity" ? "as measured" : "as somebody saw"}`;
}

export const counted = (count, one, many = `${one}s`) => `${count} ${count === 1 ? one : many}`;
export const key = (a, b) => (a < b ? `${a}|${b}` : `${b}|${a}`);

// The doubtful joins in the order they are asked: put-off ones last, else as they come.
export function queue(questions, putOff) {
  const later = (one) => putOff.has(key(one.a, one.b));
  return [...questions.filter((one) => !later(one)), ...questions.filter(later)];
}
