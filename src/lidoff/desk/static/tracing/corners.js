// The copper or the other side as it was taken: the board's four corners dragged, with the board straightened by them
// beside it; and two marks of a ruler with the length between them.
import { pictureOf, viewer } from "./viewer.js";

const NAMES = ["top left", "top right", "bottom right", "bottom left"];
const WAYS = [[-0.72, -0.72], [0.72, -0.72], [0.72, 0.72], [-0.72, 0.72]]; // a corner's grip lies off the board
const HOW = "arrow keys move it by a pixel, with Shift by ten";

// `use(file, corners)`, `wide(mm)` and `ruler(ends, mm)` keep what was set; they give whether it was taken.
export function corners(root, base, { use, wide, ruler }) {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  const result = $("raw-straight"), choice = $("raw-which");
  let state = null, which = 0, at = [], ends = [], asking = false, again = false, touched = false;

  const photo = viewer($("raw"), { drawn(line) {
    if (at.length) line(at, true);
    if (ends.length) line(ends, false, "tracing-ruler");
  } });

  function marks() {
    photo.clear();
    NAMES.forEach((name, number) => photo.mark({
      label: `Corner ${name}; ${HOW}`, where: () => at[number], grip: () => WAYS[number],
      to(x, y) { at[number] = [x, y]; touched = true; $("raw-use").disabled = false; straightened(); },
    }));
    ends.forEach((_, number) => photo.mark({
      label: `Ruler, ${number ? "the other" : "one"} mark; ${HOW}`, where: () => ends[number], text: "mm",
      to(x, y) { ends[number] = [x, y]; },
    }));
    photo.draw();
  }

  // One picture is on its way at a time; the newest corners come after it.
  function straightened() {
    if (asking) { again = true; return; }
    asking = true;
    const fresh = new Image();
    fresh.onload = fresh.onerror = () => {
      asking = false;
      if (fresh.naturalWidth) result.src = fresh.src;
      result.hidden = !fresh.naturalWidth;
      $("raw-crossed").hidden = Boolean(fresh.naturalWidth);
      if (again) { again = false; straightened(); }
    };
    fresh.src = `${base}/preview/${which}?corners=${at.flat().map((one) => one.toFixed(1)).join(",")}`;
  }

  function open() {
    const one = state.photos[which];
    if (!one) return;
    touched = false;
    $("raw-use").disabled = true;
    at = one.corners.map((corner) => [...corner]);
    // The ruler lies in the copper photo, from which all mm come.
    const told = which === 0 ? state.said.ruler : null;
    ends = told ? told.ends.map((end) => [...end]) : [];
    if (told) $("ruler-length").value = String(told.length);
    photo.open(pictureOf(one.file), one.size);
    marks();
    rulerForm();
    straightened();
  }

  function rulerForm() {
    $("ruler").hidden = which !== 0;
    $("ruler-form").hidden = ends.length === 0;
    $("ruler-begin").hidden = ends.length > 0;
  }

  choice.addEventListener("change", () => { which = Number(choice.value); open(); });
  $("raw-use").addEventListener("click", async () => { if (await use(state.photos[which].file, at)) { touched = false; $("raw-use").disabled = true; } });
  $("raw-back").addEventListener("click", open);
  for (const name of ["first", "wide"]) $(`${name}-form`).addEventListener("submit", (event) => { event.preventDefault(); wide(millimetres($(name))); });
  $("ruler-set").addEventListener("click", () => {
    const [width, height] = state.photos[0].size;
    ends = [[width * 0.25, height * 0.5], [width * 0.75, height * 0.5]];
    marks();
    rulerForm();
    $("raw").querySelector(".tracing-mark:nth-last-of-type(2)")?.focus();
  });
  $("ruler-form").addEventListener("submit", (event) => { event.preventDefault(); ruler(ends, millimetres($("ruler-length"))); });

  return {
    show(now) {
      const other = !state || state.photos.map((one) => one.straight).join() !== now.photos.map((one) => one.straight).join() || JSON.stringify(state.said) !== JSON.stringify(now.said);
      state = now;
      if (!now.photos.length) return;
      which = Math.min(which, now.photos.length - 1);
      if (choice.options.length !== now.photos.length) choice.replaceChildren(...now.photos.map((one, number) => new Option(one.file, number)));
      choice.value = which;
      choice.closest(".field").hidden = now.photos.length < 2;
      $("first-form").hidden = !now.board || Boolean(now.board.scale_from);
      $("scale").textContent = now.board ? `${now.board.width.toFixed(1)} by ${now.board.height.toFixed(1)} mm; ${now.board.scale_from ? `the scale is from ${now.board.scale_from}` : "nothing gives the scale yet, so 100 mm is taken for the width"}.` : "";
      if (other && !touched && !root.querySelector("#tracing-corners").hidden) open();
    },
    open,
  };
}

const millimetres = (field) => Number(field.value.trim().replace(",", ".").replace(/ *mm$/, "") || NaN);
