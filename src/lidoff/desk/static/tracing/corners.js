// The photo as it was taken, with the board's four corners to be dragged, and the board straightened by them beside it.
import { set, make } from "../cycle/svg.js";

const NAMES = ["top left", "top right", "bottom right", "bottom left"];

// `use(file, corners)` and `wide(mm)` keep what was set.
export function corners(root, base, { use, wide }) {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  const place = $("raw"), image = $("raw-image"), result = $("raw-straight"), overlay = $("raw-lines"), choice = $("raw-which");
  const line = overlay.appendChild(make("polygon", {}));
  let state = null, which = 0, at = [], asking = false, again = false, touched = false;

  const handles = NAMES.map((name, number) => {
    const handle = document.createElement("button");
    handle.type = "button";
    handle.className = "tracing-corner";
    handle.setAttribute("aria-label", `Corner ${name}; arrow keys move it by a pixel, with Shift by ten`);
    let from = null;
    handle.addEventListener("pointerdown", (event) => { handle.setPointerCapture(event.pointerId); from = [event.clientX, event.clientY, ...at[number]]; event.preventDefault(); handle.focus(); });
    handle.addEventListener("pointermove", (event) => {
      if (!from) return;
      const per = size()[0] / image.getBoundingClientRect().width;
      move(number, from[2] + (event.clientX - from[0]) * per, from[3] + (event.clientY - from[1]) * per);
    });
    for (const done of ["pointerup", "pointercancel"]) handle.addEventListener(done, () => { from = null; });
    handle.addEventListener("keydown", (event) => {
      const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
      if (!by) return;
      event.preventDefault();
      const step = event.shiftKey ? 10 : 1;
      move(number, at[number][0] + by[0] * step, at[number][1] + by[1] * step);
    });
    place.append(handle);
    return handle;
  });

  const size = () => state.photos[which].size;

  function move(number, x, y) {
    const [width, height] = size();
    at[number] = [Math.min(width, Math.max(0, x)), Math.min(height, Math.max(0, y))];
    touched = true;
    draw();
    magnified(number);
    straightened();
  }

  function draw() {
    const [width, height] = size();
    set(overlay, { viewBox: `0 0 ${width} ${height}` });
    set(line, { points: at.map((one) => one.map((value) => value.toFixed(1)).join(",")).join(" ") });
    handles.forEach((handle, number) => { handle.style.left = `${(100 * at[number][0]) / width}%`; handle.style.top = `${(100 * at[number][1]) / height}%`; });
    $("raw-use").disabled = !touched;
  }

  // The corner that is being moved, eight times as large.
  function magnified(number) {
    const loupe = $("raw-loupe"), context = loupe.getContext("2d"), per = image.naturalWidth / size()[0], half = loupe.width / 16;
    loupe.hidden = !image.naturalWidth;
    if (loupe.hidden) return;
    const [x, y] = at[number].map((one) => one * per), middle = loupe.width / 2, style = getComputedStyle(loupe);
    context.clearRect(0, 0, loupe.width, loupe.height);
    context.drawImage(image, x - half, y - half, 2 * half, 2 * half, 0, 0, loupe.width, loupe.height);
    for (const [colour, width] of [[style.backgroundColor, 4], [style.color, 2]]) {
      context.strokeStyle = colour;
      context.lineWidth = width;
      context.beginPath();
      for (const beside of [at[(number + 1) % 4], at[(number + 3) % 4]]) { context.moveTo(middle, middle); context.lineTo(middle + (beside[0] * per - x) * 8, middle + (beside[1] * per - y) * 8); }
      context.stroke();
    }
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
    const photo = state.photos[which];
    if (!photo) return;
    touched = false;
    $("raw-loupe").hidden = true;
    at = photo.corners.map((one) => [...one]);
    image.src = `${document.body.dataset.item}/photo/${photo.file.split("/").map(encodeURIComponent).join("/")}?wide=2000`;
    draw();
    straightened();
  }

  choice.addEventListener("change", () => { which = Number(choice.value); open(); });
  $("raw-use").addEventListener("click", async () => { if (await use(state.photos[which].file, at)) { touched = false; draw(); } });
  $("raw-back").addEventListener("click", open);
  $("wide-form").addEventListener("submit", (event) => { event.preventDefault(); const mm = Number($("wide").value.replace(",", ".").replace(/ *mm$/, "")); wide(mm); });

  return {
    show(now) {
      const other = !state || state.photos.map((one) => one.straight).join() !== now.photos.map((one) => one.straight).join();
      state = now;
      if (!now.photos.length) return;
      which = Math.min(which, now.photos.length - 1);
      if (choice.options.length !== now.photos.length) choice.replaceChildren(...now.photos.map((one, number) => new Option(one.file, number)));
      choice.value = which;
      choice.closest(".field").hidden = now.photos.length < 2;
      $("scale").textContent = now.board ? `${now.board.width.toFixed(1)} by ${now.board.height.toFixed(1)} mm; ${now.board.scale_from ? `the scale is from ${now.board.scale_from}` : "nothing gives the scale yet, so 100 mm is taken for the width"}.` : "";
      if (other && !touched && !root.querySelector("#tracing-corners").hidden) open();
    },
    open,
  };
}
