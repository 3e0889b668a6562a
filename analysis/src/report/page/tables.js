// Sorts and filters tables that ask for it.
(() => {
  "use strict";
  const number = (text) => {
    const found = text.replace(/\u2212/g, "-").match(/^\s*[<>]?\s*(-?\d[\d,]*(\.\d+)?(e[-+]?\d+)?)/i);
    return found ? Number(found[1].replace(/,/g, "")) : NaN;
  };
  for (const box of document.querySelectorAll("input[data-details]")) {
    const table = document.getElementById(box.dataset.details);
    const show = () => table.classList.toggle("brief", !box.checked);
    box.addEventListener("change", show);
    show();
  }
  for (const table of document.querySelectorAll("table.sorts")) {
    const body = table.tBodies[0];
    const rows = [...body.rows];
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.append(...head.childNodes);
      head.append(button);
      button.addEventListener("click", () => {
        const down = head.getAttribute("aria-sort") === "ascending";
        for (const other of heads) other.removeAttribute("aria-sort");
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        const key = (row) => row.cells[column].dataset.value || row.cells[column].textContent.trim();
        const order = (a, b) => {
          const [one, two] = [key(a), key(b)];
          const [x, y] = [number(one), number(two)];
          // What has no number stands last, whichever way.
          if (Number.isNaN(x) !== Number.isNaN(y)) return Number.isNaN(x) ? 1 : -1;
          const by = Number.isNaN(x) ? one.localeCompare(two) : x - y;
          return down ? -by : by;
        };
        body.append(...[...body.rows].sort(order));
      });
    });
    const field = document.querySelector(`input[data-filters="${table.id}"]`);
    if (!field) continue;
    const told = document.querySelector(`output[data-counts="${table.id}"]`);
    const filter = () => {
      const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
      let shown = 0;
      for (const row of rows) {
        const text = row.textContent.toLowerCase();
        row.hidden = !words.every((word) => text.includes(word));
        shown += row.hidden ? 0 : 1;
      }
      if (told) told.textContent = `${shown} of ${rows.length}`;
    };
    field.addEventListener("input", filter);
    filter();
  }
})();
