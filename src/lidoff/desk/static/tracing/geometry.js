// Places on the board [mm] and on the screen [px]. A view is {scale, x, y}: px per mm, and where the board's corner lies.
// DOM-free.

export const toScreen = (view, [x, y]) => [view.x + x * view.scale, view.y + y * view.scale];
export const toBoard = (view, [x, y]) => [(x - view.x) / view.scale, (y - view.y) / view.scale];

// The whole board in a window of [width, height] px with `spare` px round it.
export function fitted(board, [width, height], spare = 12) {
  const scale = Math.max(0.01, Math.min((width - 2 * spare) / board.width, (height - 2 * spare) / board.height));
  return { scale, x: (width - board.width * scale) / 2, y: (height - board.height * scale) / 2 };
}

// The scale is kept between a quarter of the whole board's and 80 px per mm, or four times it where that is more.
export const limits = (board, size) => { const whole = fitted(board, size).scale; return [whole / 4, Math.max(80, whole * 4)]; };

// Larger by `factor`, the place under `at` staying where it is.
export function zoomed(view, at, factor, [least, most]) {
  const scale = Math.min(most, Math.max(least, view.scale * factor)), by = scale / view.scale;
  return { scale, x: at[0] - (at[0] - view.x) * by, y: at[1] - (at[1] - view.y) * by };
}

export const moved = (view, dx, dy) => ({ ...view, x: view.x + dx, y: view.y + dy });

// Two fingers from a, b to c, d: what was between them stays between them.
export function pinched(view, [a, b], [c, d], range) {
  const apart = (p, q) => Math.hypot(p[0] - q[0], p[1] - q[1]), middle = (p, q) => [(p[0] + q[0]) / 2, (p[1] + q[1]) / 2];
  const from = middle(a, b), to = middle(c, d);
  return zoomed(moved(view, to[0] - from[0], to[1] - from[1]), to, apart(c, d) / Math.max(1, apart(a, b)), range);
}

// The view that shows these places, at `most` px per mm at most.
export function showing(points, [width, height], most, spare = 60) {
  const xs = points.map((one) => one[0]), ys = points.map((one) => one[1]);
  const [left, right, top, bottom] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const wide = Math.max(1, width - 2 * spare), high = Math.max(1, height - 2 * spare);
  const scale = Math.min(most, wide / Math.max(0.5, right - left), high / Math.max(0.5, bottom - top));
  return { scale, x: width / 2 - ((left + right) / 2) * scale, y: height / 2 - ((top + bottom) / 2) * scale };
}

// The view moved so that a board larger than the window fills it, but for `spare` px beyond its edges; where it is smaller
// it stands in the middle.
export function within(view, board, [width, height], spare = 12) {
  const held = (at, long, room) => (long <= room ? (room - long) / 2 : Math.min(spare, Math.max(room - long - spare, at)));
  return { ...view, x: held(view.x, board.width * view.scale, width), y: held(view.y, board.height * view.scale, height) };
}

// The number of the nearest of `places` ({x, y}) within `reach` of a point, or -1.
export function nearest(places, [x, y], reach) {
  let best = -1, least = reach;
  places.forEach((one, number) => { const off = Math.hypot(one.x - x, one.y - y); if (off <= least) { least = off; best = number; } });
  return best;
}

export function fromSegment([px, py], [ax, ay], [bx, by]) {
  const dx = bx - ax, dy = by - ay, long = dx * dx + dy * dy;
  const along = long ? Math.min(1, Math.max(0, ((px - ax) * dx + (py - ay) * dy) / long)) : 0;
  return Math.hypot(px - ax - along * dx, py - ay - along * dy);
}

export function fromLine(point, line) {
  let least = Infinity;
  for (let n = 1; n < line.length; n += 1) least = Math.min(least, fromSegment(point, line[n - 1], line[n]));
  return least;
}

// The number of the line that comes nearest within `reach`, or -1.
export function nearestLine(lines, point, reach) {
  let best = -1, least = reach;
  lines.forEach((line, number) => { const off = fromLine(point, line); if (off < least) { least = off; best = number; } });
  return best;
}

export const box = ([ax, ay], [bx, by]) => ({ x: Math.min(ax, bx), y: Math.min(ay, by), width: Math.abs(bx - ax), height: Math.abs(by - ay) });

// The smallest box that holds a point: a small one over a large one is meant first. -1 where none does.
export function inside(boxes, [x, y]) {
  let best = -1, least = Infinity;
  boxes.forEach((one, number) => {
    const size = one.width * one.height;
    if (x >= one.x && x <= one.x + one.width && y >= one.y && y <= one.y + one.height && size < least) { least = size; best = number; }
  });
  return best;
}

// A bow from a to b, for a wire that goes through the air: its three points for a curve.
export function bow([ax, ay], [bx, by]) {
  return [[ax, ay], [(ax + bx) / 2 - (by - ay) * 0.18, (ay + by) / 2 + (bx - ax) * 0.18], [bx, by]];
}

// What a crop about a doubtful join shows: board [mm] round its weakest point, `aspect` times as wide as high, wide
// enough to hold both pads where they are near, `least` to `most` wide.
export function cropped(a, b, weakest, { least, most, aspect = 1.6 }) {
  const [x, y] = weakest ?? [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
  const far = Math.max(...[a, b].map((one) => Math.max(Math.abs(one[0] - x), Math.abs(one[1] - y) * aspect)));
  const width = Math.min(most, Math.max(least, far * 2.4)), height = width / aspect;
  return { x: x - width / 2, y: y - height / 2, width, height };
}

// Where labels of [width, height] px go beside their places (screen px): to the right, else left, above or below, so that
// none lies on another or on a place; null for one that finds no room. `first` is placed before the others.
export function labelled(places, sizes, first = -1, off = 9) {
  const taken = places.map(([x, y]) => ({ x: x - 5, y: y - 5, width: 10, height: 10 })), found = places.map(() => null);
  const order = places.map((_, number) => number);
  if (first >= 0) { order.splice(first, 1); order.unshift(first); }
  for (const number of order) {
    const [x, y] = places[number], [width, height] = sizes[number];
    const corners = [[x + off, y - height / 2], [x - off - width, y - height / 2], [x - width / 2, y - off - height], [x - width / 2, y + off]];
    for (const [left, top] of corners) {
      const area = { x: left, y: top, width, height };
      if (number !== first && taken.some((one) => overlap(one, area))) continue;
      taken.push(area);
      found[number] = [left, top];
      break;
    }
  }
  return found;
}

const overlap = (a, b) => a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;

// A point taken through a homography, three rows of three.
export function through(rows, [x, y]) {
  const [u, v, w] = rows.map(([a, b, c]) => a * x + b * y + c);
  return [u / w, v / w];
}

// The way back of a homography, by its adjugate: a factor is of no account.
export function inverted([[a, b, c], [d, e, f], [g, h, i]]) {
  return [
    [e * i - f * h, c * h - b * i, b * f - c * e],
    [f * g - d * i, a * i - c * g, c * d - a * f],
    [d * h - e * g, b * g - a * h, a * e - b * d],
  ];
}
