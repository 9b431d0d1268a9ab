// One of several, or one of each of several groups: a row of buttons for each. With one group a tap answers; with
// more, the last one does.

import { drawing, el } from "../lib/dom.js";

const TONES = { root: "1", third: "3", fifth: "5", seventh: "7" };
const TYPING = 1200; // ms in which a further key belongs to the one before: 1 and 3 are 13

/** What is typed for an option: its id, a tone's number, # for a sharp key. */
const typed = (id) => (TONES[id] ?? id.replace(/^([A-G])s$/, "$1#")).toLowerCase();

export class ChoicePad {
  tools = [];
  ledge = [];
  #groups;
  #chosen;
  #changed;
  #done;
  #word = "";
  #typedAt = -Infinity;

  /** `done(ids)` gets one option's id per group. */
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

  #buttons(index) {
    return [...this.element.querySelectorAll(`[data-group="${index}"] button`)];
  }

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

  focus(touched) {
    if (touched) return false;
    this.#buttons(Math.max(this.#open, 0))[0].focus({ preventScroll: true });
    return true;
  }

  /** Typing an option's id chooses it, as soon as it can be no other; Backspace takes the last choice back. */
  key(key) {
    if (key === "Backspace") return this.#back();
    if (key.length !== 1) return this.#step({ ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[key]);
    if (performance.now() - this.#typedAt > TYPING) this.#word = "";
    const buttons = this.#buttons(this.#open);
    const find = (word) => buttons.filter((button) => typed(button.dataset.id).startsWith(word));
    const letter = key === "−" ? "-" : key.toLowerCase();
    const [word, found] = [this.#word + letter, letter].map((each) => [each, find(each)]).find(([, each]) => each.length) ?? ["", []];
    if (!found.length) return false;
    this.#word = word;
    this.#typedAt = performance.now();
    if (found.length === 1) found[0].click();
    else (found.find((button) => typed(button.dataset.id) === word) ?? found[0]).focus({ preventScroll: true });
    return true;
  }

  #step(by) {
    if (!by) return false;
    const buttons = [...this.element.querySelectorAll("button")];
    const at = buttons.indexOf(document.activeElement);
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
  constructor({ prompt, done, ...rest }) {
    const choices = [{ about: "Number", options: NUMBERS.map((number) => [number, number]) }];
    super({ ...rest, prompt: { ...prompt, choices }, done: ([number]) => done(number) });
  }
}
