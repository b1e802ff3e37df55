// The tracing page's modules that need no browser. Run by tests/desk/test_tracing_modules.py with the node that
// Playwright brings; by hand: node --test tests/desk/js/tracing.test.mjs
import assert from "node:assert/strict";
import test from "node:test";

const at = (name) => import(new URL(`../../../src/lidoff/desk/static/tracing/${name}`, import.meta.url));
const { bow, box, cropped, fitted, fromLine, inside, inverted, labelled, limits, moved, nearest, nearestLine, pinched, showing, through, toBoard, toScreen, within, zoomed } = await at("geometry.js");
const { meaning, pedal, TREAD } = await at("press.js");
const { aloud, announced, key, question, queue, spoken, standing } = await at("words.js");

const near = (found, wanted, off = 1e-9) => found.forEach((value, n) => assert.ok(Math.abs(value - wanted[n]) < off, `${found} is not ${wanted}`));

test("a view there and back", () => {
  const view = { scale: 7.3, x: -40, y: 12.5 };
  near(toBoard(view, toScreen(view, [3.2, 9.9])), [3.2, 9.9]);
});

test("the whole board lies in the middle of the window", () => {
  const view = fitted({ width: 60, height: 40 }, [624, 824]);
  assert.equal(view.scale, 10);
  near(toScreen(view, [30, 20]), [312, 412]);
  near(toScreen(view, [0, 20]), [12, 412]);
});

test("the wheel enlarges about the pointer", () => {
  const range = [0.5, 80], view = fitted({ width: 60, height: 40 }, [600, 400]), pointer = [123, 301];
  const before = toBoard(view, pointer), after = zoomed(view, pointer, 1.7, range);
  near(toBoard(after, pointer), before);
  assert.ok(Math.abs(after.scale / view.scale - 1.7) < 1e-12);
  assert.equal(zoomed(view, pointer, 1e9, range).scale, 80);
  near(toBoard(zoomed(view, pointer, 1e9, range), pointer), before);
  assert.equal(zoomed(view, pointer, 1e-9, range).scale, 0.5);
});

test("two fingers keep what is between them", () => {
  const view = { scale: 10, x: 0, y: 0 }, from = [[100, 100], [200, 100]], to = [[120, 180], [320, 180]];
  const after = pinched(view, from, to, [1, 100]);
  assert.equal(after.scale, 20);
  near(toScreen(after, toBoard(view, [150, 100])), [220, 180]);
  near(toScreen(after, toBoard(view, from[0])), to[0]);
});

test("a view that shows some places holds them all, and enlarges no further than said", () => {
  const view = showing([[10, 10], [30, 12]], [600, 400], 50);
  for (const one of [[10, 10], [30, 12]]) { const [x, y] = toScreen(view, one); assert.ok(x >= 59.9 && x <= 540.1 && y >= 59.9 && y <= 340.1); }
  assert.equal(showing([[10, 10]], [600, 400], 22).scale, 22);
  assert.ok(limits({ width: 60, height: 40 }, [600, 400])[1] >= 80);
  assert.deepEqual(moved({ scale: 2, x: 1, y: 1 }, 3, -4), { scale: 2, x: 4, y: -3 });
});

test("what is under a point", () => {
  const pads = [{ x: 0, y: 0 }, { x: 3, y: 0 }, { x: 3.4, y: 0 }];
  assert.equal(nearest(pads, [3.3, 0.1], 1), 2);
  assert.equal(nearest(pads, [9, 9], 1), -1);
  // A triangle of 3, 4, 5 stands 12/5 high over its long side.
  assert.ok(Math.abs(fromLine([0, 0], [[3, 0], [0, 4]]) - 2.4) < 1e-12);
  assert.equal(fromLine([5, 0], [[0, 0], [3, 0]]), 2);
  assert.equal(nearestLine([[[0, 0], [9, 0]], [[0, 2], [9, 2]], []], [4, 1.7], 1), 1);
  assert.equal(nearestLine([[[0, 0], [9, 0]]], [4, 1.7], 1), -1);
  assert.deepEqual(box([5, 1], [2, 4]), { x: 2, y: 1, width: 3, height: 3 });
  const boxes = [{ x: 0, y: 0, width: 20, height: 20 }, { x: 4, y: 4, width: 3, height: 3 }];
  assert.equal(inside(boxes, [5, 5]), 1);
  assert.equal(inside(boxes, [15, 5]), 0);
  assert.equal(inside(boxes, [25, 5]), -1);
});

test("a wire bows off the straight line, and ends on its pads", () => {
  const [from, through, to] = bow([0, 0], [10, 0]);
  assert.deepEqual([from, to], [[0, 0], [10, 0]]);
  assert.ok(Math.abs(through[1]) > 1);
});

test("a crop holds the weakest point, and both pads where they are near", () => {
  for (const [a, b, weakest] of [[[10, 10], [13, 11], [11, 10]], [[10, 10], [60, 50], [40, 20]], [[5, 5], [6, 5], null], [[5, 5], [5, 9], [5, 8]]]) {
    const crop = cropped(a, b, weakest, { least: 6, most: 16, aspect: 1.6 });
    const holds = ([x, y]) => x >= crop.x && x <= crop.x + crop.width && y >= crop.y && y <= crop.y + crop.height;
    assert.ok(crop.width >= 6 && crop.width <= 16 && Math.abs(crop.width / crop.height - 1.6) < 1e-9);
    if (weakest) assert.ok(holds(weakest));
    if (Math.hypot(a[0] - b[0], a[1] - b[1]) < 5) assert.ok(holds(a) && holds(b));
  }
});

test("labels lie neither on another nor on a pad, and the chosen one is always there", () => {
  const places = [[100, 100], [130, 100], [160, 100], [100, 112], [300, 300]], sizes = places.map(() => [40, 16]);
  const areas = (found) => found.map((at, n) => at && { x: at[0], y: at[1], width: sizes[n][0], height: sizes[n][1] });
  const meet = (a, b) => a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
  const found = areas(labelled(places, sizes));
  found.forEach((one, n) => {
    if (!one) return;
    found.forEach((other, m) => { if (other && m !== n) assert.ok(!meet(one, other)); });
    for (const [x, y] of places) assert.ok(!meet(one, { x: x - 5, y: y - 5, width: 10, height: 10 }));
  });
  assert.deepEqual(labelled(places, sizes)[4], [309, 292]);
  assert.deepEqual(labelled(places, sizes, 1)[1], [139, 92]);
});

function clocked() {
  const said = [], timers = new Map();
  let time = 0, next = 0;
  const it = pedal({
    yes: () => said.push("yes"), no: () => said.push("no"), hold: 600, rest: 200, now: () => time,
    after: (what, wait) => { timers.set(next += 1, [time + wait, what]); return next; }, cancel: (which) => timers.delete(which),
  });
  const pass = (by) => { time += by; for (const [which, [when, what]] of [...timers]) if (when <= time) { timers.delete(which); what(); } };
  return { it, said, pass };
}

test("a tap is yes, held down is no, once", () => {
  const { it, said, pass } = clocked();
  it.down(false); pass(120); it.up();
  assert.deepEqual(said, ["yes"]);
  pass(1000);
  it.down(false); pass(700); it.up();
  assert.deepEqual(said, ["yes", "no"]);
});

test("a key that repeats by itself, and a foot that bounces, answer nothing more", () => {
  const { it, said, pass } = clocked();
  it.down(false);
  for (let n = 0; n < 40; n += 1) { pass(33); it.down(true); }
  it.up();
  assert.deepEqual(said, ["no"]);
  pass(1000);
  it.down(false); pass(60); it.up(); pass(30); it.down(false); pass(40); it.up();
  assert.deepEqual(said, ["no", "yes"]);
  pass(1000); it.up(); it.down(true); it.up();
  assert.deepEqual(said, ["no", "yes"]);
});

test("a key that is down when the question goes says nothing about the next", () => {
  const { it, said, pass } = clocked();
  it.down(false); pass(100); it.drop(); pass(2000); it.up();
  assert.deepEqual(said, []);
});

test("keys and what they mean", () => {
  assert.deepEqual([...TREAD].map(meaning), [null, null, null]); // a tread is timed, and means nothing by itself
  assert.deepEqual(meaning("m"), { joined: true, by: "continuity" });
  assert.deepEqual(meaning("o"), { joined: false, by: "continuity" });
  assert.deepEqual(meaning("n"), { joined: false, by: "user" });
  assert.equal(meaning("x"), null);
  assert.equal(meaning("toString"), null);
});

test("words", () => {
  assert.equal(question("R1.2", "P007"), "Are R1.2 and P007 joined?");
  assert.equal(spoken("R1.2"), "R1, pin 2");
  assert.equal(spoken("BR1.plus"), "BR1, plus");
  assert.equal(spoken("P007"), "pad 7");
  assert.equal(aloud("P001", "R1.2"), "pad 1, and R1, pin 2: joined?");
  assert.equal(key("b", "a"), key("a", "b"));
  assert.equal(standing({ status: "answered-no", why: "continuity" }), "not joined, as measured");
  assert.equal(standing({ status: "accepted", why: "" }), "joined, as the picture shows");
});

test("what is put off is asked last, the others as they come", () => {
  const all = [["a", "b"], ["c", "d"], ["e", "f"]].map(([a, b]) => ({ a, b }));
  assert.deepEqual(queue(all, new Set([key("b", "a")])).map((one) => one.a), ["c", "e", "a"]);
  assert.deepEqual(queue(all, new Set()).map((one) => one.a), ["a", "c", "e"]);
});

test("a homography there and back", () => {
  const pose = [[0.09, 0.004, -3], [-0.003, 0.11, 2], [0.00002, -0.00004, 1]];
  near(through(inverted(pose), through(pose, [812, 455])), [812, 455], 1e-6);
  near(through([[0, 2, 0], [1, 0, 5], [0, 0, 2]], [4, 6]), [6, 4.5]);
});

test("what is spoken when a question comes up", () => {
  assert.equal(announced(null, aloud("R1.2", "P007")), "R1, pin 2, and pad 7: joined?");
  assert.equal(announced(true, "x"), "Joined. x");
  assert.equal(announced(false, null), "Not joined. Nothing more is in doubt.");
});

test("a board larger than the window fills it, wherever it was to be looked at", () => {
  const board = { width: 100, height: 60 }, room = [600, 400];
  // At 20 px a mm it is 2000 by 1200 px: its right lower corner comes no further in than 12 px.
  assert.deepEqual(within({ scale: 20, x: -1700, y: -1000 }, board, room), { scale: 20, x: -1412, y: -812 });
  assert.deepEqual(within({ scale: 20, x: 90, y: 40 }, board, room), { scale: 20, x: 12, y: 12 });
  assert.deepEqual(within({ scale: 20, x: -700, y: -300 }, board, room), { scale: 20, x: -700, y: -300 });
  // One that fits stands in the middle: 200 by 120 px of 600 by 400.
  assert.deepEqual(within({ scale: 2, x: 150, y: 90 }, board, room), { scale: 2, x: 200, y: 140 });
});
