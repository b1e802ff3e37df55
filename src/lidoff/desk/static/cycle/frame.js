// One answer of the solver, as desk/live_frame.py packs it. DOM-free.

const HEAD = 9;
const OF_PARTS = 4;

// The row of the current through a part.
export const rowThrough = (part) => OF_PARTS + 2 * part + 1;

// `shape` says how many {figures, parts, pins} a frame holds. Rows are views into the buffer, nothing is copied.
export function decode(buffer, shape) {
  const [tag, settled, direct, carried, cycles, shown, points, spans, text] = new Int32Array(buffer, 0, HEAD);
  const rows = OF_PARTS + 2 * shape.parts + shape.pins;
  const count = shape.figures + 2 * shape.parts + rows * points + 3 * spans;
  const numbers = new Float32Array(buffer, 4 * HEAD, count);
  const start = 4 * (HEAD + count);
  if (start + text !== buffer.byteLength) throw new RangeError("The desk's answer does not fit this page; load it again.");
  const partsAt = shape.figures, rowsAt = partsAt + 2 * shape.parts, spansAt = rowsAt + rows * points;
  const row = (which) => numbers.subarray(rowsAt + which * points, rowsAt + (which + 1) * points);
  return {
    tag, settled: settled === 1, direct: direct === 1, carried: carried === 1, cycles, shown, points,
    figures: numbers.subarray(0, shape.figures),
    power: (part) => numbers[partsAt + 2 * part],
    rms: (part) => numbers[partsAt + 2 * part + 1],
    time: row(0), voltage: row(1), current: row(2), light: row(3),
    row,
    across: (part) => row(OF_PARTS + 2 * part),
    through: (part) => row(rowThrough(part)),
    spans: Array.from({ length: spans }, (_, k) => {
      const at = spansAt + 3 * k;
      return { which: numbers[at], from: numbers[at + 1], to: numbers[at + 2] };
    }),
    sentences: JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, start, text))),
  };
}
