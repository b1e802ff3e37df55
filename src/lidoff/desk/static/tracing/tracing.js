// The tracing page put together: what the desk knows of the trace is asked for, shown, and changed act by act.
import { ask, say } from "../ask.js";
import { cards } from "./cards.js";
import { corners } from "./corners.js";
import { showing, within } from "./geometry.js";
import { hands } from "./hands.js";
import { holes } from "./holes.js";
import { panel } from "./panel.js";
import { stage as onStage } from "./stage.js";
import { taking } from "./take.js";
import { counted } from "./words.js";

const root = document.getElementById("tracing");
if (root) begin();

function begin() {
  const $ = (id) => root.querySelector(`#tracing-${id}`);
  const base = `${document.body.dataset.item}/tracing`, place = $("stage"), copper = $("copper"), other = $("other");
  const stage = onStage(place, $("canvas"), [copper, other]);
  let number = -1, pathsNumber = -1, chosen = null, pair = [], followed = [], ways = [], sending = Promise.resolve();

  // What is done ------------------------------------------------------------------------------------------------------

  function act(body) {
    sending = sending.then(async () => {
      const answer = await ask(`${base}/act`, body);
      if (!answer.ok) { say(answer.sentence); return false; }
      say("");
      show(answer);
      return true;
    });
    return sending;
  }

  const undo = () => act({ do: "undo" }), redo = () => act({ do: "redo" });

  function show(state) {
    if (state.number < number) return;
    number = state.number;
    if (chosen && !exists(state, chosen)) chosen = null;
    pictures(state);
    if (state.board) place.style.aspectRatio = `${Math.max(1, state.board.width / state.board.height)}`;
    $("body").hidden = !state.board;
    stage.resize();
    stage.show(state);
    stage.held.chosen = chosen;
    $("working").textContent = state.working;
    $("working").hidden = !state.working;
    // Before the copper has been read nothing is known of what is in doubt.
    const waits = !state.read && !state.trouble && state.pads.length > 1;
    root.toggleAttribute("data-working", Boolean(state.working) || waits);
    $("trouble").textContent = state.trouble;
    $("trouble").hidden = !state.trouble;
    $("again").hidden = !state.trouble;
    $("refused").hidden = !state.refused;
    $("refused-why").textContent = state.refused ?? "";
    notes("remarks", [...state.contradictions, ...state.remarks]);
    $("undo").disabled = !state.undo;
    $("undo").title = state.undo ? `Undo: ${state.undo}` : "Nothing to undo on this trace";
    $("redo").disabled = !state.redo;
    $("redo").title = state.redo ? `Do again: ${state.redo}` : "Nothing to do again on this trace";
    $("told").textContent = state.board ? `${counted(state.pads.length, "pad")}, ${counted(state.pieces, "piece of copper with two pads or more", "pieces of copper with two pads or more")}${state.read && !state.working ? `, ${counted(state.questions.length, "join in doubt", "joins in doubt")}` : ""}.` : "";
    $("none").querySelector("p").textContent = state.working || waits ? "The picture is being read." : state.pads.length < 2 ? "Set two pads or more: choose “Pad” above the photo and click where a lead comes through." : !state.read ? "The picture could not be read; nothing is known of what is in doubt." : state.refused ? "Nothing is asked, since this picture does not bear an answer." : "Nothing is in doubt. Measure a few joins all the same before you rely on them.";
    options("pins", state.pins);
    options("parts", state.parts);
    options("nodes", state.nodes);
    queue.show(state);
    raw.show(state);
    both.show(state);
    side.show(chosen, pair);
    side.lists();
    if (state.paths_number !== pathsNumber) bringPaths(state.paths_number);
  }

  // Where the mm come from; with none, the remarks say so.
  function scaled({ board, photos }) {
    if (!board?.scale_from) return "";
    const frame = board.scale_from.startsWith("the printed sheet") ? "The printed frame was found in the photo. " : "";
    const [a, b] = photos[0]?.corners ?? [], fine = a ? `, ${(Math.hypot(b[0] - a[0], b[1] - a[1]) / board.width).toFixed(0)} pixels to a mm` : "";
    return `${frame}The board is ${board.width.toFixed(1)} by ${board.height.toFixed(1)} mm${fine}; the scale is from ${board.scale_from}.`;
  }

  const exists = (state, { what, which }) => ({ pad: state.pads, hole: state.holes, body: state.bodies, join: state.joins, wire: state.wires })[what][which];

  function pictures(state) {
    for (const [image, photo] of [[copper, state.photos[0]], [other, state.photos[1]]]) {
      const source = photo ? `${base}/${photo.straight}` : "";
      if ((image.dataset.source ?? "") !== source) { image.dataset.source = source; if (source) image.src = source; else image.removeAttribute("src"); }
    }
    $("light").hidden = !state.photos[1];
    const second = state.photos[1];
    $("scaled").textContent = scaled(state);
    $("aligned").textContent = second && !state.remarks.length ? (second.residual !== null ? `The other side is laid over by ${second.aligned_by}, ${second.residual.toFixed(2)} mm apart.` : "The other side is laid over by its outline alone, good to half a millimetre or so.") : "";
  }
  for (const image of [copper, other]) image.addEventListener("load", () => { stage.draw(); queue.draw(); });

  async function bringPaths(wanted) {
    pathsNumber = wanted;
    const response = await fetch(`${base}/paths`, { headers: { accept: "application/json" } }).catch(() => null);
    if (!response?.ok) return;
    const told = await response.json();
    stage.ways(told.paths);
  }

  function notes(name, sentences) {
    $(name).hidden = sentences.length === 0;
    $(name).querySelector("ul").replaceChildren(...sentences.map((words) => { const one = document.createElement("li"); one.textContent = words; return one; }));
  }

  function options(name, words) {
    const list = $(name === "pins" ? "pins" : name === "parts" ? "parts" : "nodes");
    if (list.dataset.words === words.join(" ")) return;
    list.dataset.words = words.join(" ");
    list.replaceChildren(...words.map((one) => new Option(one, one)));
  }

  // What is chosen ------------------------------------------------------------------------------------------------------

  function choose(it, look = false) {
    chosen = it;
    // The first of two pads stays chosen while the second is looked for from pad to pad.
    if (!it || mode() !== "pair") pair = [];
    stage.held.chosen = it;
    if (it && look) {
      const state = stage.held.state, one = exists(state, it), points = it.what === "join" ? stage.lineOf(one) : [[one.x, one.y]];
      if (points.length) stage.look(showing(points, stage.held.size, Math.max(12, stage.held.view.scale)));
      place.scrollIntoView({ block: "nearest" });
    }
    stage.held.draft = draft();
    side.show(chosen, pair);
    stage.draw();
  }

  const mode = () => root.querySelector("input[name=tracing-tool]:checked").value;
  function draft() {
    if (ways.length || followed.length) return { line: ways, points: followed };
    const points = pair.map((name) => stage.pad(name)).filter(Boolean).map((one) => [one.x, one.y]);
    return points.length ? { points } : null;
  }
  const redraft = () => { stage.held.draft = draft(); $("follow-bar").hidden = mode() !== "follow"; $("follow-end").disabled = followed.length < 2 || !ends(); stage.draw(); };

  const tools = {
    mode, draft,
    tap(point, it) {
      const tool = mode();
      if (tool === "pair") {
        if (it?.what !== "pad") return;
        const name = stage.held.state.pads[it.which].id;
        pair = pair.length === 1 && pair[0] !== name ? [pair[0], name] : [name];
        chosen = stage.held.chosen = it;
        side.show(chosen, pair);
        redraft();
      } else if (tool === "follow") follow(point, it);
      else if (it) choose(it);
      else if (tool === "pad") act({ do: "add", what: "pad", x: point[0], y: point[1] }).then((ok) => { if (ok) choose({ what: "pad", which: stage.held.state.pads.length - 1 }); });
      else if (tool === "hole") act({ do: "add", what: "hole", x: point[0], y: point[1], diameter: 1 }).then((ok) => { if (ok) choose({ what: "hole", which: stage.held.state.holes.length - 1 }); });
      else choose(null);
    },
    dragging({ what, which }, [x, y]) {
      const one = exists(stage.held.state, { what, which });
      if (what === "body") { x -= one.width / 2; y -= one.height / 2; }
      stage.held.draft = what === "body" ? { box: { ...one, x, y } } : { points: [[x, y]] };
      stage.draw();
    },
    dragged({ what, which }, [x, y]) {
      const one = exists(stage.held.state, { what, which });
      stage.held.draft = null;
      if (what === "body") { x -= one.width / 2; y -= one.height / 2; }
      act({ do: "move", what, which: what === "pad" ? one.id : which, x, y });
      choose({ what, which });
    },
    dropped() {},
    boxed(box) {
      stage.held.draft = null;
      if (box.width < 0.3 || box.height < 0.3) { stage.draw(); return; }
      act({ do: "add", what: "body", ...box }).then((ok) => { if (ok) choose({ what: "body", which: stage.held.state.bodies.length - 1 }); });
    },
    nudge(dx, dy) {
      if (!chosen || !["pad", "hole", "body"].includes(chosen.what)) return false;
      const one = exists(stage.held.state, chosen);
      act({ do: "move", what: chosen.what, which: chosen.what === "pad" ? one.id : chosen.which, x: one.x + dx, y: one.y + dy });
      return true;
    },
    remove() {
      if (mode() === "follow") { followed.pop(); renew(); return; }
      if (!chosen || chosen.what === "join") return;
      const it = chosen, one = exists(stage.held.state, it);
      choose(null);
      act({ do: "remove", what: it.what, which: it.what === "pad" ? one.id : it.which });
    },
    leave() { followed = []; ways = []; choose(null); redraft(); },
    through: (on) => !light.hidden && through(on),
    next(by) {
      const count = stage.held.state.pads.length;
      if (count) choose({ what: "pad", which: ((chosen?.what === "pad" ? chosen.which : by > 0 ? -1 : 0) + by + count) % count }, true);
    },
  };
  hands(stage, place, tools);

  // Following a track by clicks -----------------------------------------------------------------------------------------

  const padAt = ([x, y]) => stage.held.state.pads.find((one) => one.x === x && one.y === y);
  const ends = () => padAt(followed[0]) && padAt(followed.at(-1)) && padAt(followed[0]) !== padAt(followed.at(-1));

  function follow(point, it) {
    const pad = it?.what === "pad" ? stage.held.state.pads[it.which] : null;
    if (!followed.length && !pad) { say("Begin on a pad."); return; }
    followed.push(pad ? [pad.x, pad.y] : point);
    renew();
  }

  // The way from click to click along the copper, asked for anew.
  async function renew() {
    ways = followed.length > 1 ? followed : [];
    redraft();
    if (followed.length < 2) { words(); return; }
    const asked = JSON.stringify(followed), answer = await ask(`${base}/follow`, { points: followed });
    if (asked !== JSON.stringify(followed)) return;
    if (!answer.ok) say(answer.sentence); else ways = answer.points;
    redraft();
    words();
  }

  function words() {
    const first = followed[0] && padAt(followed[0]), last = followed.length > 1 && padAt(followed.at(-1));
    $("follow-words").textContent = !first ? "Click the pad where the track begins, then along it; the line keeps to the copper. Click the pad where it ends."
      : last ? `The line runs from ${first.title} to ${last.title}. Does it keep to copper all the way?` : `From ${first.title}: click on along the track, and the pad where it ends. Delete takes the last click back.`;
  }

  $("follow-end").addEventListener("click", async () => {
    const a = padAt(followed[0]), b = padAt(followed.at(-1));
    if (a && b && await act({ do: "answer", a: a.id, b: b.id, joined: true, by: "user", note: "followed along the track" })) { followed = []; ways = []; redraft(); words(); }
  });
  $("follow-drop").addEventListener("click", () => { followed = []; ways = []; redraft(); words(); });

  // The rest --------------------------------------------------------------------------------------------------------------

  const side = panel(root, stage, { act, choose });
  const queue = cards(root, stage, copper, {
    given: (join, joined, by) => act({ do: "answer", a: join.a, b: join.b, joined, by }),
    shown(join) {
      if (join && $("goes").checked) {
        const points = [join.a, join.b].map((name) => stage.pad(name)).filter(Boolean).map((one) => [one.x, one.y]);
        if (join.weakest) points.push(join.weakest);
        // Not so for what is chosen from pad to pad: that stands at the cross in the middle, where Enter clicks.
        stage.look(within(showing(points, stage.held.size, 22, 90), stage.held.state.board, stage.held.size));
      }
      stage.draw();
    },
    undo,
  });
  const raw = corners(root, base, {
    use: (file, four) => act({ do: "corners", file, corners: four }),
    wide: (width) => act({ do: "width", width }),
    ruler: (points, length) => act({ do: "ruler", ends: points, length }),
  });
  const both = holes(root, base, { use: (pairs) => act({ do: "holes", pairs }) });
  both.begin();
  taking(root, base);

  for (const tool of root.querySelectorAll("input[name=tracing-tool]")) tool.addEventListener("change", () => { followed = []; ways = []; choose(null); redraft(); words(); $("tool-words").textContent = tool.dataset.words; });
  $("tool-words").textContent = root.querySelector("input[name=tracing-tool]:checked").dataset.words;
  $("undo").addEventListener("click", undo);
  $("redo").addEventListener("click", redo);
  $("again").addEventListener("click", () => act({ do: "again" }));
  $("whole").addEventListener("click", () => stage.whole());
  $("follow-begin").addEventListener("click", () => { const tool = root.querySelector("input[value=follow]"); tool.checked = true; tool.dispatchEvent(new Event("change")); place.focus(); });
  $("as-taken").addEventListener("click", () => {
    const open = $("corners").hidden;
    $("corners").hidden = !open;
    $("as-taken").setAttribute("aria-expanded", String(open));
    if (open) { raw.open(); $("corners").scrollIntoView({ block: "nearest" }); }
  });

  // Held to the light: the far side through the board, for as long as the button or the key is down.
  const light = $("light"), through = (on) => { place.toggleAttribute("data-through", on); light.setAttribute("aria-pressed", String(on)); return true; };
  light.addEventListener("pointerdown", (event) => { light.setPointerCapture(event.pointerId); through(true); });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) light.addEventListener(end, () => through(false));
  light.addEventListener("keydown", (event) => { if (event.key === " " || event.key === "Enter") { event.preventDefault(); event.stopPropagation(); through(true); } });
  light.addEventListener("keyup", () => through(false));
  light.addEventListener("contextmenu", (event) => event.preventDefault());
  const typing = (event) => event.target.closest?.("input:not([type=radio]):not([type=checkbox]), select, textarea");
  document.addEventListener("keydown", (event) => { if (event.key === "l" && !event.ctrlKey && !event.metaKey && !typing(event) && !light.hidden) through(true); });
  document.addEventListener("keyup", (event) => { if (event.key === "l") through(false); });
  addEventListener("blur", () => through(false));

  // Ctrl+Z and Ctrl+Y go back and forth on the trace while the hand is in it or nowhere; else the record's own undoing
  // takes them.
  document.addEventListener("keydown", (event) => {
    if (event.target !== document.body && !root.contains(event.target)) return;
    if (!(event.ctrlKey || event.metaKey) || event.altKey || typing(event) || event.target.closest("#tracing-taking")) return;
    const pressed = event.key.toLowerCase(), again = pressed === "y" || (pressed === "z" && event.shiftKey);
    if ((pressed !== "z" && pressed !== "y") || $(again ? "redo" : "undo").disabled) return;
    event.preventDefault();
    event.stopPropagation();
    (again ? redo : undo)();
  }, true);

  async function bring() {
    const response = await fetch(`${base}/state?seen=${number}`, { headers: { accept: "application/json" } }).catch(() => null);
    if (response?.status === 200) show(await response.json());
    else if (response && !response.ok) { const told = await response.json().catch(() => ({})); $("trouble").textContent = told.sentence ?? ""; $("trouble").hidden = !told.sentence; }
  }
  async function watch() {
    if (!document.hidden) await bring();
    setTimeout(watch, root.hasAttribute("data-working") ? 350 : 2000);
  }
  watch();
  words();
}
