// The neck to put a chord on. It always shows the same stretch, nut to fret 12, and a second view from there
// on, so that what it shows never tells where the answer lies.
// A chord is six frets, string 6 first: null muted, 0 open.

import { el } from "./dom.js";

const STRINGS = [6, 5, 4, 3, 2, 1];
const VIEWS = [
  { frets: [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12], name: "nut to fret 12" },
  { frets: [12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22], name: "frets 12 to 22" },
];
const INLAYS = new Set([3, 5, 7, 9, 12, 15, 17, 19, 21]);
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const WIDE = matchMedia("(orientation: landscape), (min-width: 641px)");

export class Neck {
  #left;
  #changed;
  #past = [];
  #frets = [null, null, null, null, null, null];
  #view = 0;
  #region = null;
  #at = { string: 6, fret: 0 };

  /** `changed()` is called after every change of the chord. */
  constructor({ leftHanded, changed }) {
    this.#left = leftHanded;
    this.#changed = changed;
    this.element = el("div", { class: "neck", onclick: (event) => this.#tap(event), onkeydown: (event) => this.#pressed(event) });
    this.draw = () => this.#draw();
    WIDE.addEventListener("change", this.draw);
    this.#draw();
  }

  /** Stops listening to the screen's turns. */
  remove() {
    WIDE.removeEventListener("change", this.draw);
  }

  get frets() {
    return [...this.#frets];
  }

  set frets(frets) {
    this.#frets = [...frets];
    this.#show();
  }

  get empty() {
    return this.#frets.every((fret) => fret === null);
  }

  get otherView() {
    return VIEWS[1 - this.#view].name;
  }

  focus() {
    this.#cell(this.#at.string, this.#at.fret)?.focus({ preventScroll: true });
  }

  undo() {
    if (this.#past.length) this.#set(this.#past.pop(), false);
  }

  clear() {
    if (!this.empty) this.#set([null, null, null, null, null, null]);
  }

  turn() {
    const focused = this.element.contains(document.activeElement);
    this.#view = 1 - this.#view;
    this.#at = { string: this.#at.string, fret: VIEWS[this.#view].frets[0] };
    this.#draw();
    if (focused) this.focus();
  }

  /** Shows the region from fret `low` to `high`, and the same box an octave up. */
  mark([low, high]) {
    this.#region = [low, high];
    this.#show();
  }

  #set(frets, undoable = true) {
    if (undoable) this.#past.push(this.#frets);
    this.#frets = frets;
    this.#show();
    this.#changed();
  }

  #put(string, fret) {
    const frets = this.frets;
    const before = frets[6 - string];
    if (fret === 0) frets[6 - string] = before === null ? 0 : null;
    else frets[6 - string] = before === fret ? null : fret;
    this.#set(frets);
  }

  #tap(event) {
    const cell = event.target.closest("[role=gridcell]");
    if (!cell) return;
    this.#at = { string: Number(cell.dataset.string), fret: Number(cell.dataset.fret) };
    this.#put(this.#at.string, this.#at.fret);
    this.focus();
  }

  #pressed(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === " " && event.repeat) event.preventDefault();
    else if (this.key(event.key)) event.preventDefault();
  }

  /** Arrows go where they point on the screen; the space bar sets. True if the key was one of these. */
  key(key) {
    if (key === " ") this.#put(this.#at.string, this.#at.fret);
    else if (STEPS[key]) this.#move(STEPS[key]);
    else return false;
    this.focus();
    return true;
  }

  #move([right, down]) {
    const flip = this.#left ? -1 : 1;
    const columns = [0, ...VIEWS[this.#view].frets];
    const [along, lower] = WIDE.matches ? [right * flip, down] : [down, -right * flip];
    const column = columns.indexOf(this.#at.fret) + along;
    const string = this.#at.string + lower;
    if (column < 0 || column >= columns.length || string < 1 || string > 6) return;
    this.#at = { string, fret: columns[column] };
    this.#show();
  }

  #cell(string, fret) {
    return this.element.querySelector(`[data-string="${string}"][data-fret="${fret}"]`);
  }

  #draw() {
    const wide = WIDE.matches;
    const columns = [0, ...VIEWS[this.#view].frets];
    // Upright: low string left. Across: high string on top, as one looks down on it. Left-handed: mirrored.
    const strings = wide ? [...STRINGS].reverse() : this.#left ? [...STRINGS].reverse() : STRINGS;
    const frets = wide && this.#left ? [...columns].reverse() : columns;
    this.element.className = `neck ${wide ? "across" : "upright"} ${this.#left ? "left-handed" : ""} view-${this.#view}`;
    this.element.replaceChildren(
      el("div", { class: "fret-numbers", "aria-hidden": "true" },
        frets.map((fret) => el("span", {}, fret === 0 ? "" : INLAYS.has(fret) ? String(fret) : ""))),
      el("div", { class: "board" }, el("div", { class: "fingerboard", role: "grid", "aria-label": `Neck, ${VIEWS[this.#view].name}`, "aria-multiselectable": "true" },
        strings.map((string) => el("div", { class: "string", role: "row" }, frets.map((fret) => this.#newCell(string, fret))))),
        el("div", { class: "inlays", "aria-hidden": "true" }, frets.map(inlay))),
    );
    this.#show();
  }

  #newCell(string, fret) {
    return el("div", { role: "gridcell", class: fret === 0 ? "cell head" : "cell", "data-string": string, "data-fret": fret });
  }

  #show() {
    const [low, high] = this.#region ?? [1, 0];
    for (const cell of this.element.querySelectorAll("[role=gridcell]")) {
      const string = Number(cell.dataset.string);
      const fret = Number(cell.dataset.fret);
      const sounds = this.#frets[6 - string];
      const here = sounds === fret;
      const within = (fret >= low && fret <= high) || (fret >= low + 12 && fret <= high + 12);
      cell.setAttribute("aria-selected", String(here));
      cell.setAttribute("tabindex", string === this.#at.string && fret === this.#at.fret ? "0" : "-1");
      cell.classList.toggle("band", within);
      cell.setAttribute("aria-label", `string ${string} ${fret === 0 ? headWord(sounds) : `fret ${fret}`}${within ? ", in the region" : ""}`);
      if (fret === 0) cell.textContent = headSign(sounds, VIEWS[this.#view].frets);
    }
  }
}

const inlay = (fret) => el("span", {}, INLAYS.has(fret) && el("i"), fret === 12 && el("i"));

const headWord = (sounds) => (sounds === null ? "muted" : sounds === 0 ? "open" : `at fret ${sounds}`);

/** What stands at the head of a string: muted, open, or the fret it has in the other view. */
function headSign(sounds, inView) {
  if (sounds === null) return "×";
  if (sounds === 0) return "○";
  return inView.includes(sounds) ? "" : String(sounds);
}
