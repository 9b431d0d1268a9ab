// Notes in order, root first: tapped (a letter with its accidental) or written. Both go on to the same line.

import { ACCIDENTALS, LETTERS } from "./name.js";
import { el, say } from "../lib/dom.js";
import { _ } from "../lib/words.js";

const NOTE = /([A-Ga-g])(bb|♭♭|𝄫|##|♯♯|𝄪|x|b|♭|#|♯)?/gu;
/** @type {Record<string, string>} */
const SIGNS = { b: "♭", bb: "𝄫", "♭♭": "𝄫", "#": "♯", "##": "𝄪", "♯♯": "𝄪", x: "𝄪" };
const LINE = ["𝄫", "♭", "", "♯", "𝄪"];

/**
 * The notes in a text, as they are printed; null where something in it is no note.
 * @type {(text: string) => string[] | null}
 */
export function readNotes(text) {
  if (text.replace(NOTE, "").replace(/[\s,;–-]/g, "")) return null;
  return [...text.matchAll(NOTE)].map(([, letter, sign = ""]) => letter.toUpperCase() + (SIGNS[sign] ?? sign));
}

export class NotePad {
  /** @type {HTMLElement[]} */
  tools = [];
  /** @type {(draft: string) => void} */ #changed;
  /** @type {(notes: string[]) => unknown} */ #done;

  /** @param {{ draft?: string, changed: (draft: string) => void, done: (notes: string[]) => unknown }} how */
  constructor({ draft, changed, done }) {
    this.#changed = changed;
    this.#done = done;
    this.field = el("input", {
      class: "line", type: "text", "aria-label": _("Notes, written"), placeholder: _("or write them"), maxlength: 40, value: draft ?? "",
      autocomplete: "off", autocapitalize: "characters", spellcheck: "false", enterkeyhint: "done", oninput: () => this.#show(),
    });
    this.problem = el("p", { class: "problem", role: "alert" });
    /** @type {(label: string, name: string, onclick: () => void) => HTMLButtonElement} */
    const key = (label, name, onclick) => el("button", { type: "button", class: "key", "aria-label": name, onclick }, label);
    this.element = el("div", { class: "note-pad" },
      this.field, this.problem,
      el("div", { class: "pad letters", role: "group", "aria-label": _("Note") },
        ACCIDENTALS.flatMap((sign) => LETTERS.map((letter) => key(letter + sign, letter + sign, () => this.#add(letter + sign))))),
      el("div", { class: "pad altering", role: "group", "aria-label": _("Last note") },
        key(_("♭ lower"), _("Lower the last note"), () => this.#alter(-1)),
        key(_("♯ raise"), _("Raise the last note"), () => this.#alter(1)),
        key(_("Undo"), _("Undo"), () => this.#put(this.#notes.slice(0, -1)))));
    this.ledge = [el("button", { type: "button", class: "work", onclick: () => this.check() }, _("Check"))];
  }

  get #notes() {
    return readNotes(this.field.value) ?? [];
  }

  /** @type {(notes: string[]) => void} */
  #put(notes) {
    this.field.value = notes.join(" ");
    this.#show();
    say(this.field.value || _("No notes"));
  }

  /** @type {(note: string) => void} */
  #add(note) {
    this.#put([...this.#notes, note]);
  }

  /** @type {(by: number) => void} */
  #alter(by) {
    const notes = this.#notes;
    const last = notes.pop();
    if (!last) return;
    const sign = LINE[LINE.indexOf(last.slice(1)) + by];
    this.#put([...notes, sign === undefined ? last : last[0] + sign]);
  }

  #show() {
    this.problem.textContent = "";
    this.#changed(this.field.value);
  }

  /** @type {(touched: boolean) => boolean} */
  focus(touched) {
    if (touched) return false;
    this.field.focus({ preventScroll: true });
    return true;
  }

  /**
   * A letter goes on to the line.
   * @type {(key: string) => boolean}
   */
  key(key) {
    if (/^[a-g]$/i.test(key)) this.field.focus();
    return false;
  }

  check() {
    const notes = readNotes(this.field.value);
    if (notes?.length) return this.#done(notes);
    this.problem.textContent = notes
      ? _("No note yet: tap the root first, then the others.")
      : _("“{text}” is not all notes: write letters A to G with ♯ or ♭, like D♭ F A♭.", { text: this.field.value });
    return undefined;
  }
}
