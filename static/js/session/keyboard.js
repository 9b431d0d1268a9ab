// What the keys of the keyboard mean in the drill.

import { all, byId, targetOf } from "../lib/dom.js";
import { keepSingleKeys } from "../device/stored.js";

/** @import { Acts } from "./acts.js" */
/** @import { Screen } from "./screen.js" */

/**
 * A text field takes the letters itself; while it is empty, only those that begin a chord.
 * @type {(field: HTMLElement, key: string) => boolean}
 */
function fieldTakes(field, key) {
  if (!(field instanceof HTMLInputElement) || !field.matches("input[type=text]")) return false;
  return field.value !== "" || /^([a-g]|backspace|delete)$/i.test(key);
}

/**
 * Listens to keys and pointers; `takeBack()` takes the last answer back as a mis-tap.
 * @type {(screen: Screen, acts: Acts, takeBack: () => void) => void}
 */
export function listen(screen, acts, takeBack) {
  const dialog = byId("keys", HTMLDialogElement);
  const singleKeys = byId("single-keys", HTMLInputElement);

  /** @type {(event: KeyboardEvent) => void} */
  function pressed(event) {
    const target = targetOf(event);
    if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing || dialog.open) return;
    if (!["Tab", "Shift", "CapsLock"].includes(event.key)) acts.press(target.matches("input"), screen.answering);
    if (event.defaultPrevented || event.repeat) return;
    if (event.key === "Enter") {
      enterPressed(event, target);
      return;
    }
    if (target.closest("button, a, label") && event.key === " ") return;
    if (!singleKeys.checked || (event.key !== "?" && fieldTakes(target, event.key))) return;
    if (meaning(event.key)) event.preventDefault();
  }

  /** @type {(event: KeyboardEvent, target: HTMLElement) => void} */
  function enterPressed(event, target) {
    if (target.closest("button, a, summary")) return;
    event.preventDefault();
    if (screen.state === "asking") screen.card?.check();
    else screen.step?.click();
  }

  /**
   * What a single key means here; true if it meant something.
   * @type {(key: string) => boolean}
   */
  function meaning(key) {
    const [named] = all(screen.main, `[data-key="${CSS.escape(key.toLowerCase())}"]`);
    if (named?.checkVisibility()) named.click();
    else if (key === "?") dialog.showModal();
    else if (key.toLowerCase() === "t" && !byId("mistap").hidden) takeBack();
    else return screen.state === "asking" && screen.card !== null && screen.card.key(key);
    return true;
  }

  document.addEventListener("pointerdown", (event) => acts.point(event, screen.answering));
  document.addEventListener("keydown", pressed);
  byId("keys-open").addEventListener("click", () => dialog.showModal());
  keepSingleKeys(singleKeys);
}
