// A list whose rows can be moved: by dragging a handle, by Alt and the arrows.

import { targetOf } from "../lib/dom.js";

const EDGE = 72; // px from the edge of the window within which dragging scrolls
const STEP = 8;

/**
 * Makes the rows of `list` movable. `moved(row)` is called once a row has its new place, `dropped()` after a drag
 * that changed nothing. Dragging works with a mouse, a pen and a finger: what is under way is the row that stays
 * in the document, so that it keeps the pointer and the focus; the others move around it.
 * @type {(list: HTMLElement, does: { moved: (row: HTMLElement) => void, dropped: () => void }) => { readonly dragging: boolean }}
 */
export function ordering(list, { moved, dropped }) {
  /** @type {HTMLElement | null} */
  let dragged = null;
  /** @type {Element[]} */
  let order = [];
  let y = 0;

  /** @type {(row: Element) => number} */
  const middle = (row) => {
    const { top, height } = row.getBoundingClientRect();
    return top + height / 2;
  };

  function settle() {
    const row = dragged;
    if (!row) return;
    let { previousElementSibling: above, nextElementSibling: below } = row;
    for (; above && y < middle(above); above = row.previousElementSibling) row.after(above);
    for (; below && y > middle(below); below = row.nextElementSibling) row.before(below);
  }

  function scroll() {
    if (!dragged) return;
    if (y < EDGE) scrollBy(0, -STEP);
    else if (y > innerHeight - EDGE) scrollBy(0, STEP);
    settle();
    requestAnimationFrame(scroll);
  }

  /** @type {(back: boolean) => void} */
  function drop(back) {
    const row = dragged;
    if (!row) return;
    dragged = null;
    row.classList.remove("dragged");
    if (back) list.append(...order);
    if (order.some((each, at) => each !== list.children[at])) moved(row);
    else dropped();
  }

  list.addEventListener("pointerdown", (event) => {
    const handle = targetOf(event).closest(".handle");
    const row = handle?.closest("li");
    if (!handle || !row || event.button > 0 || dragged) return;
    dragged = row;
    order = [...list.children];
    y = event.clientY;
    dragged.classList.add("dragged");
    handle.setPointerCapture(event.pointerId);
    requestAnimationFrame(scroll);
  });
  list.addEventListener("pointermove", (event) => {
    if (!dragged) return;
    y = event.clientY;
    settle();
  });
  list.addEventListener("pointerup", () => dragged && drop(false));
  list.addEventListener("lostpointercapture", () => dragged && drop(false));
  list.addEventListener("pointercancel", () => dragged && drop(true));
  addEventListener("keydown", (event) => event.key === "Escape" && dragged && drop(true));

  list.addEventListener("keydown", (event) => {
    const row = targetOf(event).closest("li");
    // Alt and the down arrow open a list of choices; that stays so.
    if (!event.altKey || !row || targetOf(event).matches("select")) return;
    const { previousElementSibling: above, nextElementSibling: below } = row;
    if (event.key === "ArrowUp") above?.before(row);
    else if (event.key === "ArrowDown") below?.after(row);
    else return;
    event.preventDefault();
    if (event.key === "ArrowUp" ? above : below) moved(row);
    targetOf(event).focus();
  });

  return { get dragging() { return dragged !== null; } };
}
