// Tables of figures: plain, or sorted by the column whose head is pressed.

import { el, say } from "./dom.js";
import { _ } from "./words.js";

/**
 * A table of `rows` (arrays of texts, numbers or elements) under `heads`.
 * @type {(caption: string, heads: string[], rows: Dom.Child[][]) => HTMLElement}
 */
export function table(caption, heads, rows) {
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    el("table", { class: "figures" },
      el("caption", {}, caption),
      el("thead", {}, el("tr", {}, heads.map((head) => el("th", { scope: "col" }, head)))),
      el("tbody", {}, rows.map(row))));
}

/** @type {(cells: Dom.Child[]) => HTMLElement} */
const row = (cells) => el("tr", {}, cells.map((cell, at) => (at ? el("td", {}, cell) : el("th", { scope: "row" }, cell))));

/**
 * The same figures that a drawing shows, folded away below it.
 * @type {(caption: string, heads: string[], rows: Dom.Child[][]) => HTMLElement}
 */
export const behind = (caption, heads, rows) => el("details", {}, el("summary", {}, _("The figures")), table(caption, heads, rows));

/**
 * Rows by what `order` gives for each, the highest first if `down`; of equal ones the first stays first, down the last.
 * @template R
 * @param {R[]} rows
 * @param {(row: R) => number | string} order
 * @param {boolean} down
 * @returns {R[]}
 */
export function sorted(rows, order, down) {
  const rising = rows.toSorted((one, other) => Number(order(one) > order(other)) - Number(order(one) < order(other)));
  return down ? rising.reverse() : rising;
}

/**
 * A table whose columns can be sorted. `rows` are objects; a column is { head, of, order }.
 * @template R
 * @param {string} caption
 * @param {{ head: string, of: (row: R) => Dom.Child, order: (row: R) => number | string }[]} columns
 * @param {R[]} rows
 * @returns {HTMLElement}
 */
export function sortable(caption, columns, rows) {
  let by = 0;
  let down = false;
  const body = el("tbody");
  const buttons = columns.map((column, at) => el("button", { type: "button", class: "key plain", onclick: () => sort(at) }, column.head));
  const heads = buttons.map((button) => el("th", { scope: "col" }, button));

  function put() {
    body.replaceChildren(...sorted(rows, columns[by].order, down).map((one) => row(columns.map((column) => column.of(one)))));
    heads.forEach((head, at) => {
      if (at === by) head.setAttribute("aria-sort", down ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
  }

  /** @type {(at: number) => void} */
  function sort(at) {
    down = at === by && !down;
    by = at;
    put();
    const { head } = columns[at];
    say(down ? _("Sorted by {column}, highest first.", { column: head }) : _("Sorted by {column}, lowest first.", { column: head }));
  }

  put();
  return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    el("table", { class: "figures" }, el("caption", {}, caption), el("thead", {}, el("tr", {}, heads)), body));
}
