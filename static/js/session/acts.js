// How answers are given: by touch, mouse or keyboard. What was used most for an answer is its mode.

import { TAB } from "../device/stored.js";

/** @typedef {"touch" | "mouse" | "keyboard"} Means */

const MEANS = ["touch", "mouse", "keyboard"];

/** How this tab was used last, or how such a device is used. @type {() => Means} */
function meansAtFirst() {
  const kept = sessionStorage.getItem(TAB.mode) ?? "";
  if (MEANS.includes(kept)) return /** @type {Means} */ (kept);
  return matchMedia("(pointer: coarse)").matches ? "touch" : "keyboard";
}

export class Acts {
  #mode = meansAtFirst();
  /** @type {Means[]} */ #acts = [];
  /** @type {Means | null} */ #pointer = null;

  get mode() {
    return this.#mode;
  }

  /** Whether the last act was a touch. */
  get touched() {
    return this.#mode === "touch";
  }

  /** A new question: what was done before does not count. */
  begin() {
    this.#acts = [];
  }

  /**
   * Something was done; while nothing is answered it says how the next question will be.
   * @type {(by: Means, answering: boolean) => void}
   */
  add(by, answering) {
    this.#acts.push(by);
    if (!answering) this.#mode = by;
  }

  /** @type {(event: PointerEvent, answering: boolean) => void} */
  point(event, answering) {
    this.#pointer = event.pointerType === "mouse" ? "mouse" : "touch";
    this.add(this.#pointer, answering);
  }

  /**
   * A key was pressed; in a field that was touched it is the phone's own keyboard.
   * @type {(inField: boolean, answering: boolean) => void}
   */
  press(inField, answering) {
    this.add(this.#pointer === "touch" && inField ? "touch" : "keyboard", answering);
  }

  /** The way most acts of this answer were made; of two equal ways, the later one. */
  close() {
    /** @type {Map<Means, number>} */
    const counts = new Map();
    for (const by of this.#acts) counts.set(by, (counts.get(by) ?? 0) + 1);
    const most = Math.max(0, ...counts.values());
    this.#mode = this.#acts.findLast((by) => counts.get(by) === most) ?? this.#mode;
    sessionStorage.setItem(TAB.mode, this.#mode);
    return this.#mode;
  }
}
