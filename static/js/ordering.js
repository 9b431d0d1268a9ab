// A list whose rows can be moved: by dragging a handle, by buttons, by Alt and the arrows.

const EDGE = 72; // px from the edge of the window within which dragging scrolls
const STEP = 12;

/**
 * Makes the rows of `list` movable. A row has a `.handle`; `move(from, to)` is called once a row has a
 * new place, by index. Dragging works with a mouse, a pen and a finger.
 */
export function ordering(list, move) {
  let dragged = null;
  let from = 0;

  const rows = () => [...list.children];

  list.addEventListener("pointerdown", (event) => {
    const handle = event.target.closest(".handle");
    if (!handle || event.button > 0) return;
    event.preventDefault();
    dragged = handle.closest("li");
    from = rows().indexOf(dragged);
    dragged.classList.add("dragged");
    handle.setPointerCapture(event.pointerId);
  });
  list.addEventListener("pointermove", (event) => {
    if (!dragged) return;
    const others = rows().filter((row) => row !== dragged);
    const after = others.find((row) => {
      const { top, height } = row.getBoundingClientRect();
      return event.clientY < top + height / 2;
    });
    if (after) after.before(dragged);
    else list.append(dragged);
    if (event.clientY < EDGE) scrollBy(0, -STEP);
    else if (event.clientY > innerHeight - EDGE) scrollBy(0, STEP);
  });
  const drop = (event) => {
    if (!dragged) return;
    const to = rows().indexOf(dragged);
    dragged.classList.remove("dragged");
    dragged = null;
    if (event.type === "pointercancel") move(from, from);
    else if (to !== from) move(from, to);
  };
  list.addEventListener("pointerup", drop);
  list.addEventListener("pointercancel", drop);
  list.addEventListener("keydown", (event) => {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    const row = event.target.closest("li");
    if (!event.altKey || !step || !row) return;
    event.preventDefault();
    const at = rows().indexOf(row);
    if (at + step >= 0 && at + step < rows().length) move(at, at + step);
  });
}
