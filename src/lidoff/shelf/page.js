"use strict";
for (const table of document.querySelectorAll("table")) {
  const body = table.tBodies[0];
  const heads = [...table.tHead.rows[0].cells];
  table.classList.add("sortable");
  heads.forEach((head, place) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = head.textContent;
    button.title = "Sort by " + head.textContent;
    head.replaceChildren(button);
    button.addEventListener("click", () => {
      const numeric = head.classList.contains("numeric") || place === heads.length - 1;
      const before = head.getAttribute("aria-sort");
      const down = before ? before === "ascending" : numeric && place > 0;
      heads.forEach((other) => other.removeAttribute("aria-sort"));
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const key = (row) => row.cells[place].dataset.key;
      const rows = [...body.rows].sort((a, b) => {
        const [x, y] = [key(a), key(b)];
        // What is not known stands last, whichever way it is sorted.
        if (x === "" || y === "") return (x === "") - (y === "");
        const order = numeric ? x - y : x.localeCompare(y, "en");
        return down ? -order : order;
      });
      body.append(...rows);
    });
  });
}
