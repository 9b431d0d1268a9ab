// A list whose rows can be moved: by dragging a handle, by Alt and the arrows.

const EDGE = 72; // px from the edge of the window within which dragging scrolls
const STEP = 8;

/**
 * Makes the rows of `list` movable. `moved(row)` is called once a row has its new place, `dropped()` after a drag
 * that changed nothing. Dragging works with a mouse, a pen and a finger: what is under way is the row that stays
 * in the document, so that it keeps the pointer and the focus; the others move around it.
 */
export function ordering(list, { moved, dropped }) {
  let dragged = null;
  let order = [];
  let y = 0;

  const middle = (row) => {
    const { top, height } = row.getBoundingClientRect();
    return top + height / 2;
  };

  function settle() {
    let { previousElementSibling: above, nextElementSibling: below } = dragged;
    for (; above && y < middle(above); above = dragged.previousElementSibling) dragged.after(above);
    for (; below && y > middle(below); below = dragged.nextElementSibling) dragged.before(below);
  }

  function scroll() {
    if (!dragged) return;
    if (y < EDGE) scrollBy(0, -STEP);
    else if (y > innerHeight - EDGE) scrollBy(0, STEP);
    settle();
    requestAnimationFrame(scroll);
  }

  function drop(back) {
    const row = dragged;
    dragged = null;
    row.classList.remove("dragged");
    if (back) list.append(...order);
    if (order.some((each, at) => each !== list.children[at])) moved(row);
    else dropped();
  }

  list.addEventListener("pointerdown", (event) => {
    const handle = event.target.closest(".handle");
    if (!handle || event.button > 0 || dragged) return;
    dragged = handle.closest("li");
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
    const row = event.target.closest("li");
    // Alt and the down arrow open a list of choices; that stays so.
    if (!event.altKey || !row || event.target.matches("select")) return;
    const { previousElementSibling: above, nextElementSibling: below } = row;
    if (event.key === "ArrowUp") above?.before(row);
    else if (event.key === "ArrowDown") below?.after(row);
    else return;
    event.preventDefault();
    if (event.key === "ArrowUp" ? above : below) moved(row);
    event.target.focus();
  });

  return { get dragging() { return dragged !== null; } };
}
