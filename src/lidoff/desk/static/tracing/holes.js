// The same holes in the photos of both sides, by which one is laid over the other: a click on a hole in either photo sets
// a mark there and one in the other, where the hole should be, to be dragged onto it. How far apart they are is said.
import { ask } from "../ask.js";
import { inverted, through } from "./geometry.js";
import { counted } from "./words.js";
import { pictureOf, viewer } from "./viewer.js";

const MOST = 12;

// `use(pairs)` keeps them.
export function holes(root, base, { use }) {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  let state = null, pairs = [], asking = false, again = false, touched = false;
  const photos = ["holes-copper", "holes-other"].map((name, side) => viewer($(name), { tapped: (point) => add(point, side) }));

  function add(point, side) {
    if (pairs.length >= MOST) return;
    const poses = state.photos.map((one) => one.pose), other = through(inverted(poses[1 - side]), through(poses[side], point));
    pairs.push(side === 0 ? [point, inPhoto(other, 1)] : [inPhoto(other, 0), point]);
    changed();
  }
  const inPhoto = ([x, y], side) => { const [width, height] = state.photos[side].size; return [Math.min(width, Math.max(0, x)), Math.min(height, Math.max(0, y))]; };

  function changed() { touched = true; marks(); fit(); }

  function marks() {
    photos.forEach((photo, side) => {
      photo.clear();
      pairs.forEach((pair, number) => photo.mark({
        label: `Hole ${number + 1} in ${side ? "the other photo" : "the copper photo"}; arrow keys move it by a pixel, with Shift by ten; Delete takes it out`, text: String(number + 1), where: () => pair[side],
        to(x, y) { pair[side] = [x, y]; touched = true; fit(); },
        out() { pairs.splice(number, 1); changed(); },
      }));
      photo.draw();
    });
    $("holes-use").disabled = !touched || pairs.length < 2;
    $("holes-last").disabled = pairs.length === 0;
    $("holes-go").hidden = state.said.pairs.length === 0;
  }

  // How far the holes are apart, asked for one at a time.
  async function fit() {
    $("holes-use").disabled = pairs.length < 2;
    if (asking) { again = true; return; }
    asking = true;
    const answer = await ask(`${base}/fit`, { pairs });
    asking = false;
    if (again) { again = false; fit(); return; }
    $("holes-told").textContent = answer.ok ? sentence(answer) : answer.sentence;
  }

  function sentence({ residual, each }) {
    if (residual === null) return pairs.length ? "One more hole at least, far from the first; four to six are good." : "";
    const worst = each.indexOf(Math.max(...each));
    const off = each[worst] > 0.15 && pairs.length > 2 ? ` Hole ${worst + 1} is ${each[worst].toFixed(2)} mm off: look at it again in both photos.` : "";
    return `${counted(pairs.length, "hole")}, ${residual.toFixed(2)} mm apart on average.${off}`;
  }

  $("holes-use").addEventListener("click", async () => { if (await use(pairs)) { touched = false; marks(); } });
  $("holes-last").addEventListener("click", () => { pairs.pop(); changed(); });
  $("holes-go").addEventListener("click", () => use([]));

  function open() {
    touched = false;
    pairs = state.said.pairs.map((pair) => pair.map((point) => [...point]));
    photos.forEach((photo, side) => photo.open(pictureOf(state.photos[side].file), state.photos[side].size));
    marks();
    fit();
  }

  return {
    show(now) {
      const other = JSON.stringify([state?.said.pairs, state?.photos.map((one) => one.straight)]) !== JSON.stringify([now.said.pairs, now.photos.map((one) => one.straight)]);
      state = now;
      $("holes").hidden = now.photos.length < 2;
      if (now.photos.length > 1 && other && !touched && $("holes").open) open();
    },
    begin() { $("holes").addEventListener("toggle", () => { if ($("holes").open && !touched) open(); }); },
  };
}
