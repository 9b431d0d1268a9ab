// Answers that are put on the neck: a chord, or notes; notes chord by chord where the card goes through several.

import { el, say } from "../lib/dom.js";
import { Neck } from "./neck.js";
import { _ } from "../lib/words.js";

const OCTAVE = 12;

/** @type {(label: string, onclick: () => unknown, attributes?: Record<string, unknown>) => HTMLButtonElement} */
const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);

/**
 * A region and the same an octave up, where the neck is long enough.
 * @type {(hint: [number, number], top: number) => [number, number][]}
 */
const regionsOf = ([low, high], top) => (high + OCTAVE <= top ? [[low, high], [low + OCTAVE, high + OCTAVE]] : [[low, high]]);

/** What both have: the neck, its tools, and a line for what is not right yet. */
class OnNeck {
  neck;
  /** @type {[number, number][] | null} */ #hint;
  /** @type {HTMLButtonElement | null} */ #view;
  /** @type {HTMLButtonElement | null} */ #mark;

  /** @param {Pick<Input.Options, "prompt" | "settings" | "hinted" | "hint"> & { changed: () => void, many?: boolean, only?: Api.Place[] | null }} how */
  constructor({ prompt, settings, hinted, hint, changed, ...how }) {
    this.neck = new Neck({ settings, changed, ...how });
    const top = Math.min(settings.highest, settings.frets) - settings.capo;
    this.#hint = prompt.hint && regionsOf(prompt.hint, top);
    this.element = this.neck.element;
    this.problem = el("p", { class: "problem", role: "alert" });
    this.#view = this.neck.otherView === null ? null : button("", () => this.#turn());
    this.#mark = this.#hint && button(_("Mark region"), () => this.#show(hint), { "aria-pressed": "false", "aria-label": _("Mark the region") });
    this.tools = [button(_("Undo"), () => this.neck.undo()), button(_("Clear"), () => this.neck.clear()), ...[this.#view, this.#mark].filter((tool) => tool != null)];
    this.#nameView();
    if (hinted) this.#show(() => {});
  }

  #turn() {
    this.neck.turn();
    this.#nameView();
  }

  #nameView() {
    const other = this.neck.otherView;
    if (!this.#view || !other) return;
    const { name, brief } = other;
    this.#view.textContent = brief;
    this.#view.setAttribute("aria-label", _("Show {part}", { part: name }));
  }

  /** @type {(hint: () => void) => void} */
  #show(hint) {
    if (!this.#mark || !this.#hint) return;
    this.neck.mark(this.#hint);
    this.#mark.setAttribute("aria-pressed", "true");
    hint();
  }

  /** @type {(touched: boolean) => boolean} */
  focus(touched) {
    if (!touched) this.neck.focus();
    return !touched;
  }

  remove() {
    this.neck.remove();
  }

  /** @type {(key: string) => boolean} */
  key(key) {
    /** @type {Record<string, () => unknown>} */
    const does = { v: () => this.#view?.click(), r: () => this.#mark?.click(), backspace: () => this.neck.undo(), delete: () => this.neck.clear() };
    const letter = key.toLowerCase();
    if (!does[letter]) return this.neck.key(key);
    does[letter]();
    return true;
  }
}

/** A chord: one fret a string. `done(frets)` gets six, string 6 first. */
export class ChordOnNeck extends OnNeck {
  /** @type {(frets: (number | null)[]) => unknown} */ #done;

  /** @param {Omit<Input.Options, "draft" | "changed" | "done"> & { draft?: Api.Place[], changed: (places: Api.Place[]) => void, done: (frets: (number | null)[]) => unknown }} how */
  constructor({ draft, changed, done, ...rest }) {
    super({ ...rest, changed: () => this.#changed(changed) });
    this.#done = done;
    if (draft) this.neck.lay(draft);
    this.ledge = [this.problem, button(_("Check"), () => this.check(), { class: "work" })];
  }

  /** @type {(changed: (places: Api.Place[]) => void) => void} */
  #changed(changed) {
    this.problem.textContent = "";
    changed(this.neck.places);
  }

  check() {
    if (this.neck.empty) this.problem.textContent = _("No string is set yet.");
    else this.#done(this.neck.frets);
  }
}

/** Notes: any number a string. `done(steps)` gets a list of places for every chord; `stepped(n)` hears which it is. */
export class NotesOnNeck extends OnNeck {
  /** @type {string[]} */ #steps;
  /** @type {Api.Place[][]} */ #laid;
  /** @type {number} */ #at;
  /** @type {(draft: Input.StepsDraft) => void} */ #changed;
  /** @type {(laid: Api.Place[][]) => unknown} */ #done;
  /** @type {(step: number) => void} */ #stepped;
  /** @type {HTMLButtonElement} */ #back;
  /** @type {HTMLButtonElement} */ #on;

  /** @param {Omit<Input.Options, "draft" | "changed" | "done"> & { draft?: Input.StepsDraft, changed: (draft: Input.StepsDraft) => void, done: (laid: Api.Place[][]) => unknown }} how */
  constructor({ prompt, draft, changed, done, stepped, ...rest }) {
    super({ ...rest, prompt, many: true, only: prompt.spots, changed: () => this.#keep() });
    this.#steps = prompt.steps.length ? prompt.steps : [""];
    this.#laid = draft?.laid ?? this.#steps.map(() => []);
    this.#at = draft?.at ?? 0;
    this.#changed = changed;
    this.#done = done;
    this.#stepped = stepped;
    this.#back = button(_("Back"), () => this.#go(this.#at - 1), { "data-key": "b" });
    this.#on = button("", () => this.check(), { class: "work" });
    this.ledge = [this.problem, this.#back, this.#on];
    this.#lay();
  }

  #keep() {
    this.problem.textContent = "";
    this.#laid[this.#at] = this.neck.places;
    this.#changed({ laid: this.#laid, at: this.#at });
  }

  #lay() {
    this.neck.lay(this.#laid[this.#at], this.#laid[this.#at - 1]);
    const next = this.#steps[this.#at + 1];
    this.#back.hidden = this.#at === 0;
    this.#on.textContent = next ? _("Next: {chord}", { chord: next }) : _("Check");
    this.#stepped(this.#at);
  }

  /** @type {(step: number) => void} */
  #go(step) {
    this.#at = step;
    this.problem.textContent = "";
    this.#changed({ laid: this.#laid, at: step });
    this.#lay();
    say(this.#steps[step]);
  }

  check() {
    if (this.neck.empty) this.problem.textContent = _("Nothing is tapped yet.");
    else if (this.#at === this.#steps.length - 1) this.#done(this.#laid);
    else this.#go(this.#at + 1);
  }
}
