// The parts of the cycle page that need no browser. Run by tests/desk/test_cycle_modules.py.
import assert from "node:assert/strict";
import { test } from "node:test";

const from = (name) => import(new URL(`../../../src/lidoff/desk/static/cycle/${name}.js`, import.meta.url));
const { newest } = await from("link");
const { paced } = await from("pace");
const knob = await from("knob");
const { follow, roundAbove, weight } = await from("scale");
const series = await from("series");
const waves = await from("waves");
const { store } = await from("store");
const { difference, figure, instant, words } = await from("show");

test("one question is on its way at a time, and of those that wait only the newest goes", () => {
  const sent = [];
  const link = newest((question) => sent.push(question));
  for (const value of [1, 2, 3, 4]) link.ask({ do: "set", value });
  assert.deepEqual(sent.map((one) => one.value), [1]);
  link.answered(1);
  assert.deepEqual(sent.map((one) => one.value), [1, 4]);
  assert.equal(sent[1].tag, 4);
  link.answered(1); // an answer that nobody waits for any more changes nothing
  assert.equal(sent.length, 2);
  link.answered(4);
  assert.equal(link.busy, false);
});

test("a start from rest and another state are not lost behind a newer value", () => {
  const sent = [];
  const link = newest((question) => sent.push(question));
  link.ask({ do: "set", value: 1 });
  link.ask({ do: "open", state: "low", value: 2 });
  link.ask({ do: "set", value: 3 });
  link.answered(1);
  assert.deepEqual(sent[1], { do: "open", state: "low", value: 3, tag: 3 });
  link.ask({ do: "rest", value: 4 });
  link.ask({ do: "set", value: 5 });
  link.answered(3);
  assert.deepEqual([sent[2].do, sent[2].value], ["rest", 5]);
});

test("after a lost connection questions go out again", () => {
  const sent = [];
  const link = newest((question) => sent.push(question));
  link.ask({ do: "set" });
  link.forget();
  link.ask({ do: "open" });
  assert.equal(sent.length, 2);
});

test("a knob goes from 7 to 5 o'clock by way of 12", () => {
  assert.deepEqual([0, 0.5, 1].map(knob.clock), ["7 o’clock", "12 o’clock", "5 o’clock"]);
  assert.equal(knob.clock(0.25), "half past 9"); // 7 + a quarter of ten hours
  assert.equal(knob.clock(0.6), "1 o’clock");
});

test("which end is clockwise decides which way the wiper goes", () => {
  assert.equal(knob.shareOf(0, "a"), 1);
  assert.equal(knob.shareOf(0, "b"), 0);
  for (const end of ["a", "b"]) for (const position of [0, 0.3, 1]) assert.ok(Math.abs(knob.positionOf(knob.shareOf(position, end), end) - position) < 1e-9);
});

test("a finger that goes round turns the knob the short way and stops at its ends", () => {
  assert.ok(Math.abs(knob.turned(0.5, 170, -170) - (0.5 + 20 / 300)) < 1e-12);
  assert.equal(knob.turned(0.98, 0, 90), 1);
  assert.equal(knob.turned(0.1, 90, 0), 0);
  assert.equal(knob.bearing(0, -1), 0);
  assert.equal(knob.bearing(1, 0), 90);
});

test("keys and wheel turn it, and other keys do not", () => {
  assert.equal(knob.keyed(0.5, "Home"), 0);
  assert.equal(knob.keyed(0.5, "End"), 1);
  assert.ok(Math.abs(knob.keyed(0.5, "ArrowUp") - 0.51) < 1e-12);
  assert.ok(Math.abs(knob.keyed(0.95, "PageUp") - 1) < 1e-12);
  assert.equal(knob.keyed(0.5, "a"), null);
  assert.ok(knob.wheeled(0.5, -120) > 0.5 && knob.wheeled(0.5, 120) < 0.5);
});

test("a scale grows at once and shrinks late", () => {
  assert.equal(roundAbove(0.84), 1);
  assert.ok(Math.abs(roundAbove(0.081) - 0.1) < 1e-12);
  const top = follow(0, 81);
  assert.equal(top, 100);
  assert.equal(follow(top, 60), top);
  assert.equal(follow(top, 26), top);
  assert.equal(follow(top, 24), 30);
  assert.ok(follow(top, 130) >= 130);
  assert.equal(follow(top, 0), top);
});

test("a line is as thick as its current, and nothing below a hundredth of the largest", () => {
  assert.equal(weight(0.0009, 0.1), 0);
  assert.equal(weight(-0.1, 0.1), weight(0.1, 0.1));
  assert.ok(weight(0.1, 0.1) > weight(0.05, 0.1));
  assert.equal(weight(5, 0.1), weight(0.1, 0.1));
  assert.equal(weight(1, 0), 0);
});

test("letter code is read and written, and the next value of the series found", () => {
  // IEC 60062: the letter stands for the decimal point.
  const cases = { "4k7": 4700, "R47": 0.47, "0R4": 0.4, "330n": 330e-9, "2u2": 2.2e-6, "1M": 1e6, "2.2k": 2200 };
  for (const [text, value] of Object.entries(cases)) assert.ok(Math.abs(series.read(text) / value - 1) < 1e-12, text);
  for (const text of ["", "k", "4k7k", "?", "32 V"]) assert.equal(series.read(text), null);
  assert.equal(series.next("4k7", "ohm", 1), "5k6");
  assert.equal(series.next("4k7", "ohm", -1), "3k9");
  assert.equal(series.next("8k2", "ohm", 1), "10k");
  assert.equal(series.next("1k", "ohm", -1), "820R");
  assert.equal(series.next("5k", "ohm", 1), "5k6");
  assert.equal(series.next("0R47", "ohm", 1), "0R56"); // R56 would be a part
  assert.equal(series.next("100n", "F", -1), "82n");
  assert.equal(series.next("32 V", "V", 1), null);
  assert.equal(series.next("12", "", 1, true), "13");
  assert.equal(series.next("1", "", -1, true), "1");
  assert.equal(series.next("many", "", 1, true), null);
});

test("a wave is read between its points", () => {
  const time = [0, 1, 1, 3], wave = [0, 2, 4, 0];
  assert.equal(waves.value(time, wave, 0.5), 1);
  assert.equal(waves.value(time, wave, 1), 4); // at a jump, what comes after it
  assert.equal(waves.value(time, wave, 2), 2);
  assert.equal(waves.value(time, wave, 9), 0);
  assert.equal(waves.before(time, -1), 0);
});

// A canvas that only writes down where it was led.
function written(draw) {
  const found = [], at = (letter) => (x, y) => found.push(`${letter}${Math.round(x * 10) / 10 + 0},${Math.round(y * 10) / 10 + 0}`);
  draw({ moveTo: at("M"), lineTo: at("L"), closePath: () => found.push("Z") });
  return found.join("");
}

test("paths stand where the scale says", () => {
  const place = { left: 10, width: 100, end: 2, zero: 50, rise: 10 };
  assert.equal(written((path) => waves.line(path, [0, 1, 2], [0, 1, -1], place)), "M10,50L60,40L110,60");
  assert.equal(written((path) => waves.area(path, [0, 2], [1, 1], place)), "M10,40L110,40L110,50L10,50Z");
  assert.equal(written((path) => waves.line(path, [0, 1e-6, 2], [0, 0, 1], place)), "M10,50L110,40");
  const ring = written((path) => waves.ring(path, [0, 0.25, 0.5, 0.75], () => 10, { x: 0, y: 0, end: 1 }));
  assert.equal(ring, "M0,-10L10,0L0,10L-10,0Z"); // 0° at the top, clockwise
  const band = written((path) => waves.band(path, [0, 0.5], [1, -1], 1, { x: 0, y: 0, end: 1, zero: 10, reach: 2 }));
  assert.equal(band, "M0,-12L0,10ZM0,-8L0,10Z"); // as thick as the wave is on that side, and nothing on the other
});

test("of what comes within a frame the first is shown at once and of the rest the newest", () => {
  const shown = [], frames = [];
  const pictures = paced((one) => shown.push(one), (work) => frames.push(work));
  for (const one of [1, 2, 3]) pictures.come(one);
  assert.deepEqual(shown, [1]);
  frames.shift()();
  assert.deepEqual(shown, [1, 3]);
  pictures.come(4);
  assert.deepEqual(shown, [1, 3]);
  pictures.drop();
  frames.shift()();
  assert.deepEqual(shown, [1, 3]);
  pictures.come(5);
  assert.deepEqual(shown, [1, 3, 5]);
});

test("spikes do not set how thick lines are", () => {
  const time = Array.from({ length: 1001 }, (_, k) => k / 1000), wave = time.map((t) => (t > 0.5 && t < 0.503 ? 50 : Math.sin(6.283 * t)));
  assert.ok(waves.lasting(time, wave) < 1.001 && waves.lasting(time, wave) > 0.99);
  assert.equal(waves.largest(wave), 50);
  // A sine is above half its peak for two thirds of the time, above 0.99 of it for 9 % (arcsine law), above the peak never.
  for (const [level, lasts] of [[0.5, true], [0.99, true], [1.001, false]]) assert.equal(waves.lasts(time, wave, level), lasts);
});

test("a value as recorded is not ours, and settings are told from values that are tried", () => {
  const held = store((name) => ({ "R1.value": "1k", "VR1.position": 0.2, "supply.voltage": 230 })[name]);
  held.set("R1.value", "2k2");
  held.set("VR1.position", 0.4);
  held.set("supply.voltage", 240);
  assert.deepEqual(held.tried(), [["R1.value", "2k2"]]);
  assert.deepEqual(held.settings(), { "VR1.position": 0.4, "supply.voltage": 240 });
  held.set("R1.value", "1k");
  held.set("VR1.position", 0.2);
  assert.deepEqual(held.all(), { "supply.voltage": 240 });
  held.keepOnly((name) => name !== "supply.voltage");
  assert.deepEqual(held.all(), {});
});

test("numbers are shown with the prefix that suits", () => {
  assert.equal(words(0.0493, "A"), "49.3 mA");
  assert.equal(words(-84.7, "V"), "−84.7 V");
  assert.equal(words(0, "W"), "0 W");
  assert.equal(words(0.9996, "A"), "1.00 A");
  assert.deepEqual(figure(NaN, "W"), { number: "–", unit: "" });
  assert.equal(words(0.4, "share"), "40 %");
  assert.equal(words(3.24, "%"), "3.2 %");
  assert.equal(instant(1e-9, "A", 0.1), "0 A");
  assert.equal(instant(0.05, "A", 0.1), "50.0 mA");
});

test("differences are said in the figure's own unit and as a share", () => {
  assert.equal(difference(5, 6, "W"), "+1.0 W (+20 %)");
  assert.equal(difference(0.05, 0.04, "A"), "−10 mA (−20 %)");
  assert.equal(difference(100, 40, "%"), "−60 points");
  assert.equal(difference(5, 5.001, "W"), "the same");
  assert.equal(difference(NaN, 5, "W"), "–");
});
