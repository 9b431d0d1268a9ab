// One of several, or one of each of several groups: a row of buttons for each. With one group a tap answers; with
// more, the last one does.

import { all, drawing, el } from "../lib/dom.js";
import { _ } from "../lib/words.js";

/** @type {Record<string, string>} */
const TONES = { root: "1", third: "3", fifth: "5", seventh: "7" };
/** @type {Record<string, number>} */
const ARROWS = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 };
const TYPING = 1200; // ms in which a further key belongs to the one before: 1 and 3 are 13

/**
 * What is typed for an option: its id, a tone's number, # for a sharp key.
 * @type {(id: string) => string}
 */
const typed = (id) => (TONES[id] ?? id.replace(/^([A-G])s$/, "$1#")).toLowerCase();

export class ChoicePad {
  /** @type {HTMLElement[]} */
  tools = [];
  /** @type {HTMLElement[]} */
  ledge = [];
  /** @type {Api.Choice[]} */ #groups;
  /** @type {(string | null)[]} */ #chosen;
  /** @type {(chosen: (string | null)[]) => void} */ #changed;
  /** @type {(chosen: (string | null)[]) => unknown} */ #done;
  #word = "";
  #typedAt = -Infinity;

  /**
   * `done(ids)` gets one option's id per group.
   * @param {{ prompt: Api.Prompt, draft?: (string | null)[], changed: (chosen: (string | null)[]) => void, done: (chosen: (string | null)[]) => unknown }} how
   */
  constructor({ prompt, draft, changed, done }) {
    this.#groups = prompt.choices;
    this.#chosen = draft ?? this.#groups.map(() => null);
    this.#changed = changed;
    this.#done = done;
    this.element = el("div", { class: "choice-pad" },
      drawing(prompt.drawing, "drawing question-drawing"),
      el("div", { class: "groups" }, this.#groups.map((group, index) => this.#row(group, index))));
    this.#show();
  }

  /** @type {(group: Api.Choice, index: number) => HTMLElement} */
  #row({ about, options }, index) {
    const kind = `pad options of-${options.length}`;
    return el("div", {},
      this.#groups.length > 1 && el("p", { class: "quiet", "aria-hidden": "true" }, about),
      el("div", { class: kind, role: "group", "aria-label": about, "data-group": index },
        options.map(([id, label]) => el("button", { type: "button", class: "key", "data-id": id, onclick: () => this.#choose(index, id) }, label))));
  }

  /** The first group that nothing is chosen of. */
  get #open() {
    return this.#chosen.indexOf(null);
  }

  /** @type {(index: number) => HTMLButtonElement[]} */
  #buttons(index) {
    return all(this.element, `[data-group="${index}"] button`, HTMLButtonElement);
  }

  /** @type {(index: number, id: string) => void} */
  #choose(index, id) {
    this.#chosen[index] = id;
    this.#word = "";
    this.#show();
    if (this.#open < 0) this.#done(this.#chosen);
    else this.#changed(this.#chosen);
  }

  #show() {
    this.#groups.forEach((group, index) => {
      for (const button of this.#buttons(index)) {
        if (this.#groups.length > 1) button.setAttribute("aria-pressed", String(button.dataset.id === this.#chosen[index]));
      }
    });
  }

  /** @type {(touched: boolean) => boolean} */
  focus(touched) {
    if (touched) return false;
    this.#buttons(Math.max(this.#open, 0))[0].focus({ preventScroll: true });
    return true;
  }

  /**
   * Typing an option's id chooses it, as soon as it can be no other; Backspace takes the last choice back.
   * @type {(key: string) => boolean}
   */
  key(key) {
    if (key === "Backspace") return this.#back();
    if (key.length !== 1) return this.#step(ARROWS[key]);
    if (performance.now() - this.#typedAt > TYPING) this.#word = "";
    const buttons = this.#buttons(this.#open);
    /** @type {(beginning: string) => HTMLButtonElement[]} */
    const fitting = (beginning) => buttons.filter((button) => typed(button.dataset.id ?? "").startsWith(beginning));
    const letter = key === "−" ? "-" : key.toLowerCase();
    const word = fitting(this.#word + letter).length ? this.#word + letter : letter;
    const found = fitting(word);
    if (!found.length) return false;
    this.#word = word;
    this.#typedAt = performance.now();
    if (found.length === 1) found[0].click();
    else (found.find((button) => typed(button.dataset.id ?? "") === word) ?? found[0]).focus({ preventScroll: true });
    return true;
  }

  /** @type {(by: number | undefined) => boolean} */
  #step(by) {
    if (!by) return false;
    const buttons = all(this.element, "button");
    const at = buttons.findIndex((button) => button === document.activeElement);
    buttons[at < 0 ? 0 : Math.min(buttons.length - 1, Math.max(0, at + by))].focus({ preventScroll: true });
    return true;
  }

  #back() {
    const last = this.#chosen.findLastIndex((id) => id !== null);
    if (last < 0) return false;
    this.#chosen[last] = null;
    this.#show();
    this.#changed(this.#chosen);
    this.focus(false);
    return true;
  }
}

const NUMBERS = ["1", "2", "3", "4", "5", "6", "7"];

/** The number of a chord, also in a minor key, whose degrees players count without their accidentals. */
export class NumberPad extends ChoicePad {
  /** @param {{ prompt: Api.Prompt, draft?: (string | null)[], changed: (chosen: (string | null)[]) => void, done: (number: string | null) => unknown }} how */
  constructor({ prompt, done, ...rest }) {
    /** @type {Api.Choice[]} */
    const choices = [{ about: _("Number"), options: NUMBERS.map((number) => [number, number]) }];
    super({ ...rest, prompt: { ...prompt, choices }, done: ([number]) => done(number) });
  }
}
