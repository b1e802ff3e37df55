// The figures of the cycle, large; and those of the pinned one beside them, with what differs.
import { difference, figure, words } from "./show.js";
import { write } from "./svg.js";

const el = (name, kind = "", content = "") => { const node = document.createElement(name); if (kind) node.className = kind; node.textContent = content; return node; };

export function figuresView(place, scene) {
  const shown = scene.figures.map((one, k) => ({ ...one, k })).filter((one) => one.large);
  const boxes = shown.map(({ label }) => {
    const box = el("div"), value = el("span", "value"), number = el("span"), unit = el("span", "unit"), was = el("span", "from");
    value.append(number, " ", unit);
    box.append(value, el("span", "caption", label), was);
    return { box, number, unit, was };
  });
  place.replaceChildren(...boxes.map((one) => one.box));
  return {
    draw(frame, pinned) {
      shown.forEach((one, k) => {
        const { number, unit } = figure(frame.figures[one.k], one.unit);
        write(boxes[k].number, number);
        write(boxes[k].unit, unit);
        write(boxes[k].was, pinned ? `pinned: ${words(pinned.figures[one.k], one.unit)}` : "");
      });
    },
  };
}

export function compareView(section, place, scene) {
  const table = el("table"), head = el("tr");
  for (const title of ["Figure", "Pinned", "Now", "Difference"]) { const cell = el("th", title === "Figure" ? "" : "numeric", title); cell.scope = "col"; head.append(cell); }
  const body = el("tbody"), thead = el("thead");
  thead.append(head);
  table.append(thead, body);
  const rows = scene.figures.map((one) => {
    const row = el("tr"), name = el("th", "", one.label), cells = [0, 1, 2].map(() => el("td", "numeric"));
    name.scope = "row";
    row.append(name, ...cells);
    body.append(row);
    return cells;
  });
  const said = el("p", "hint"), scroll = el("div", "table-scroll");
  scroll.tabIndex = 0;
  scroll.setAttribute("role", "group");
  scroll.setAttribute("aria-label", "Figures pinned and now");
  scroll.append(table);
  place.replaceChildren(said, scroll);
  return {
    draw(frame, pinned, label) {
      if (section.hidden === Boolean(pinned)) section.hidden = !pinned;
      if (!pinned) return;
      write(said, `Pinned: ${label}. Dashed lines in the pictures are the pinned cycle.`);
      scene.figures.forEach((one, k) => {
        const [before, now] = [pinned.figures[k], frame.figures[k]];
        write(rows[k][0], words(before, one.unit));
        write(rows[k][1], words(now, one.unit));
        // May break before the share, and nowhere else.
        write(rows[k][2], difference(before, now, one.unit).replace(/ (?!\()/g, "\u00a0"));
      });
    },
  };
}
