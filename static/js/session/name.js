// A chord name, by two taps (the letter with its accidental, then the quality) or written.

import { all, drawing, el } from "../lib/dom.js";
import { SPELLINGS } from "../lib/spellings.js";
import { _ } from "../lib/words.js";

export const LETTERS = ["C", "D", "E", "F", "G", "A", "B"];
export const ACCIDENTALS = ["♯", "", "♭"];
const QUALITIES = [
  [_("major"), ""], [_("minor"), "m"], ["dim", "°"], ["dim7", "°7"], ["maj7", "maj7"], ["m7", "m7"], ["7", "7"], ["m7♭5", "m7♭5"],
];
/** What a chord can be that has lost a tone. */
const WITHOUT = [["5", "5"], [_("7 no 3"), "7no3"], [_("maj7 no 3"), "maj7no3"]];

const SIGNS = new Map(Object.entries({ b: "♭", "#": "♯", bb: "𝄫", "♭♭": "𝄫", "##": "𝄪", "♯♯": "𝄪" }));
const SUFFIXES = new Map(Object.entries(SPELLINGS).flatMap(([suffix, ways]) => ways.split(" ").map((way) => [way, suffix])));

/**
 * Whether a text can be a chord: it starts with a letter A to G.
 * @type {(text: string) => boolean}
 */
export const startsAsChord = (text) => /^\s*[A-G]/i.test(text);

/**
 * A written chord in the one spelling that answers are compared in, or null where only the service can read it: it
 * reads every chord, the page those that cards ask for.
 * @type {(text: string) => string | null}
 */
export function normalName(text) {
  const match = /^([A-G])(𝄫|bb|♭♭|𝄪|##|♯♯|b|♭|#|♯)?(.*)$/iu.exec(text.trim());
  if (!match) return null;
  const [, letter, written = "", rest] = match;
  const sign = SIGNS.get(written) ?? written;
  const suffix = SUFFIXES.get(rest.replace(/[\s(),]/g, ""));
  // Bbb5 is B♭ with a flat fifth, and not the power chord of B𝄫.
  if (suffix === undefined || ("𝄫𝄪".includes(sign) && sign && suffix === "5")) return null;
  return letter.toUpperCase() + sign + suffix;
}

/** The two pads and the line to write on. `done(name)` is called when a whole name has been given. */
export class NamePad {
  /** @type {HTMLElement[]} */
  tools = [];
  /** @type {string | null} */ #root = null;
  /** @type {string | null} */ #quality = null;
  /** @type {(draft: Input.NameDraft) => void} */ #changed;
  /** @type {(name: string) => unknown} */ #done;

  /** @param {{ prompt: Api.Prompt, draft?: Input.NameDraft, last: boolean, changed: (draft: Input.NameDraft) => void, done: (name: string) => unknown }} how */
  constructor({ prompt, draft, last, changed, done }) {
    this.#changed = changed;
    this.#done = done;
    const part = prompt.ask === "left-out";
    this.field = el("input", {
      class: "line", type: "text", "aria-label": _("Chord name, written"), placeholder: _("or write it"), maxlength: 16,
      autocomplete: "off", autocapitalize: "characters", spellcheck: "false", enterkeyhint: "done",
      oninput: () => this.#written(),
    });
    this.problem = el("p", { class: "problem", id: "name-problem" });
    this.element = el("div", { class: "name-pad" },
      part && drawing(prompt.drawing, "drawing question-drawing"),
      el("div", { class: "pad letters", role: "group", "aria-label": _("Letter") },
        ACCIDENTALS.flatMap((sign) => LETTERS.map((letter) => this.#key(letter + sign, "root", letter + sign)))),
      el("div", { class: "pad qualities", role: "group", "aria-label": _("Quality") },
        [...QUALITIES, ...(part ? WITHOUT : [])].map(([label, suffix]) => this.#key(label, "quality", suffix))),
      this.field, this.problem);
    this.ledge = [el("button", { type: "button", class: "work", onclick: () => this.check() }, last ? _("Check") : _("To the neck"))];
    if (draft) this.#take(draft);
  }

  /** @type {(label: string, part: "root" | "quality", value: string) => HTMLButtonElement} */
  #key(label, part, value) {
    return el("button", {
      type: "button", class: "key", "aria-pressed": "false", "data-part": part, "data-value": value,
      onclick: () => this.#tap(part, value),
    }, label);
  }

  /** @type {(part: "root" | "quality", value: string) => void} */
  #tap(part, value) {
    if (part === "root") this.#root = value;
    else this.#quality = value;
    this.field.value = "";
    this.#show();
    if (this.#root !== null && this.#quality !== null) this.#done(this.#root + this.#quality);
  }

  #written() {
    this.#root = this.#quality = null;
    this.#show();
  }

  #show() {
    this.problem.textContent = "";
    for (const key of all(this.element, "[data-part]")) {
      const chosen = key.dataset.value === (key.dataset.part === "root" ? this.#root : this.#quality);
      key.setAttribute("aria-pressed", String(chosen));
    }
    this.#changed({ root: this.#root, quality: this.#quality, written: this.field.value });
  }

  /** @type {(draft: Input.NameDraft) => void} */
  #take({ root, quality, written }) {
    [this.#root, this.#quality, this.field.value] = [root, quality, written];
    this.#show();
  }

  /** @type {(touched: boolean) => boolean} */
  focus(touched) {
    if (touched) return false;
    this.field.focus({ preventScroll: true });
    return true;
  }

  /**
   * A letter of a name goes on to the line.
   * @type {(key: string) => boolean}
   */
  key(key) {
    if (/^[a-g]$/i.test(key)) this.field.focus();
    return false;
  }

  /** Checks what was written; a name that cannot be read is said where it stands, and stays. */
  check() {
    const text = this.field.value.trim();
    if (startsAsChord(text)) return this.#done(text);
    this.problem.textContent = text
      ? _("No chord “{text}”: it starts with a letter A to G, with ♯ or ♭ if it has one, like B♭m.", { text })
      : _("Tap a letter and a quality, or write the chord.");
    return undefined;
  }
}
