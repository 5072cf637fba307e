// Enhances pages that work without it: sortable tables, folded parts opened for print.
"use strict";

function weight(text) {
  const plain = text.replaceAll("−", "-").trim();
  const feet = plain.match(/^([+-]?)(\d+)'(\d+)"/);
  if (feet) return (feet[1] === "-" ? -1 : 1) * (12 * Number(feet[2]) + Number(feet[3]));
  const odds = plain.match(/(less|more|about)[^\d]*(\d+) in (\d+)/);
  if (odds) return Number(odds[2]) / Number(odds[3]) + { less: -0.01, about: 0, more: 0.01 }[odds[1]];
  const number = parseFloat(plain.replace(/^[^\d+-]+/, ""));
  return Number.isNaN(number) ? null : number;
}

function compare(a, b) {
  const [x, y] = [weight(a), weight(b)];
  if (x !== null && y !== null && x !== y) return x - y;
  return a.localeCompare(b, undefined, { numeric: true });
}

function sortBy(table, place, button) {
  const body = table.tBodies[0];
  const up = button.parentElement.getAttribute("aria-sort") !== "ascending";
  const rows = [...body.rows].sort((a, b) => {
    const order = compare(a.cells[place].textContent, b.cells[place].textContent);
    return up ? order : -order;
  });
  table.querySelectorAll("th[aria-sort]").forEach((head) => head.removeAttribute("aria-sort"));
  button.parentElement.setAttribute("aria-sort", up ? "ascending" : "descending");
  body.append(...rows);
}

function makeSortable(table) {
  if (!table.tHead || !table.tBodies[0] || table.tBodies[0].rows.length < 4) return;
  [...table.tHead.rows[0].cells].forEach((head, place) => {
    if (head.querySelector("button")) return;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "sort";
    button.textContent = head.textContent;
    button.addEventListener("click", () => sortBy(table, place, button));
    head.replaceChildren(button);
  });
}

function closeMenu(event) {
  const menu = document.querySelector("details.more[open]");
  if (!menu) return;
  if (event.type === "keydown" ? event.key === "Escape" : !menu.contains(event.target)) {
    menu.open = false;
    if (event.type === "keydown") menu.querySelector("summary").focus();
  }
}

document.querySelectorAll("table").forEach(makeSortable);
document.addEventListener("htmx:after:swap", () => {
  document.querySelectorAll("table").forEach(makeSortable);
});
document.addEventListener("click", closeMenu);
document.addEventListener("keydown", closeMenu);

let openedForPrint = [];
window.addEventListener("beforeprint", () => {
  openedForPrint = [...document.querySelectorAll("main details:not([open])")];
  openedForPrint.forEach((part) => { part.open = true; });
});
window.addEventListener("afterprint", () => {
  openedForPrint.forEach((part) => { part.open = false; });
});
