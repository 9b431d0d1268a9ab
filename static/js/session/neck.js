// The neck to tap on. It always shows the same stretch, nut to fret 12, and a second view of the rest, so that
// what it shows never tells where the answer lies. With a capo it begins there, and frets count from it.
// What is put down are places, [string, fret], fret 0 open: one a string for a chord, any number for notes.

import { all, el, listed, targetOf } from "../lib/dom.js";
import { _ } from "../lib/words.js";

const STRINGS = [6, 5, 4, 3, 2, 1];
const FIRST_VIEW = 12;
const FEWEST_SHOWN = 4;
const NUMBERED = new Set([3, 5, 7, 9, 12, 15, 17, 19, 21, 24]);
/** @type {Record<string, [number, number]>} */
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const WIDE = matchMedia("(orientation: landscape), (min-width: 641px)");

/** @type {(first: number, last: number) => number[]} */
const from = (first, last) => Array.from({ length: last - first + 1 }, (_nothing, index) => first + index);

/**
 * The stretches to be shown of a neck with `frets` frets above its nut or capo.
 * @type {(frets: number) => number[][]}
 */
function viewsOf(frets) {
  if (frets <= FIRST_VIEW) return [from(1, frets)];
  return [from(1, FIRST_VIEW), from(Math.min(frets - 10, FIRST_VIEW + 1), frets)];
}

/**
 * The stretch around a few places.
 * @type {(places: Api.Place[]) => number[]}
 */
function around(places) {
  const frets = places.map(([, fret]) => fret).filter((fret) => fret > 0);
  const low = Math.min(...frets, Infinity) <= 2 || !frets.length ? 1 : Math.min(...frets);
  return from(low, Math.max(low + FEWEST_SHOWN - 1, ...frets));
}

export class Neck {
  /** @type {boolean} */ #left;
  /** @type {number} */ #capo;
  /** @type {boolean} */ #many;
  /** @type {Api.Place[] | null} */ #only;
  /** @type {() => void} */ #changed;
  /** @type {number[][]} */ #views;
  /** @type {Api.Place[][]} */ #past = [];
  /** @type {Api.Place[]} */ #places = [];
  /** @type {Api.Place[]} */ #before = [];
  #view = 0;
  /** @type {[number, number][]} */ #region = [];
  /** @type {{ string: number, fret: number }} */ #at;

  /**
   * `settings` are the player's; `many`: any number of places on a string, for notes; `only`: the places that can
   * be tapped, where not all can. `changed()` is called after every change.
   * @param {{ settings: Api.Settings, many?: boolean, only?: Api.Place[] | null, changed: () => void }} how
   */
  constructor({ settings, many = false, only = null, changed }) {
    this.#left = settings.left_handed;
    this.#capo = settings.capo;
    this.#many = many || only !== null;
    this.#only = only;
    this.#changed = changed;
    this.#views = only ? [around(only)] : viewsOf(settings.frets - settings.capo);
    const [string, fret] = only?.[0] ?? [6, 0];
    this.#at = { string, fret };
    this.element = el("div", { class: "neck", onclick: (event) => this.#tap(event), onkeydown: (event) => this.#pressed(event) });
    this.draw = () => this.#draw();
    WIDE.addEventListener("change", this.draw);
    this.#draw();
  }

  /** Stops listening to the screen's turns. */
  remove() {
    WIDE.removeEventListener("change", this.draw);
  }

  /** The places that are put down, by string and fret. */
  get places() {
    return this.#places.toSorted((one, other) => one[0] - other[0] || one[1] - other[1]);
  }

  /** Six frets, string 6 first: null muted, 0 open. */
  get frets() {
    return STRINGS.map((string) => this.#places.find((place) => place[0] === string)?.[1] ?? null);
  }

  get empty() {
    return this.#places.length === 0;
  }

  /**
   * Puts other places down, with those of the step before shown faintly.
   * @type {(places: Api.Place[], before?: Api.Place[]) => void}
   */
  lay(places, before = []) {
    this.#past = [];
    this.#places = [...places];
    this.#before = before;
    this.#show();
  }

  /** What `turn` would show, in words and briefly; null if all is in sight. */
  get otherView() {
    const frets = this.#views.at(1 - this.#view);
    if (!frets || this.#views.length < 2) return null;
    return { name: this.#nameOf(frets), brief: `${frets[0] === 1 ? 0 : frets[0]}–${frets.at(-1)}` };
  }

  /** @type {(frets: number[]) => string} */
  #nameOf(frets) {
    const [first, last] = [frets[0], frets.at(-1)];
    if (first > 1) return _("frets {first} to {last}", { first, last });
    return this.#capo ? _("capo to fret {last}", { last }) : _("nut to fret {last}", { last });
  }

  focus() {
    this.#cell(this.#at.string, this.#at.fret)?.focus({ preventScroll: true });
  }

  undo() {
    const before = this.#past.pop();
    if (before) this.#set(before, false);
  }

  clear() {
    if (!this.empty) this.#set([]);
  }

  turn() {
    if (!this.otherView) return;
    const focused = this.element.contains(document.activeElement);
    this.#view = 1 - this.#view;
    this.#at = { string: this.#at.string, fret: this.#views[this.#view][0] };
    this.#draw();
    if (focused) this.focus();
  }

  /**
   * Shows the regions, each from its low to its high fret.
   * @type {(regions: [number, number][]) => void}
   */
  mark(regions) {
    this.#region = regions;
    this.#show();
  }

  /** @type {(places: Api.Place[], undoable?: boolean) => void} */
  #set(places, undoable = true) {
    if (undoable) this.#past.push(this.#places);
    this.#places = places;
    this.#show();
    this.#changed();
  }

  /** @type {(places: Api.Place[], string: number, fret: number) => boolean} */
  #has(places, string, fret) {
    return places.some((place) => place[0] === string && place[1] === fret);
  }

  /** @type {(string: number, fret: number) => void} */
  #put(string, fret) {
    if (this.#only && !this.#has(this.#only, string, fret)) return;
    const there = this.#has(this.#places, string, fret);
    const others = this.#places.filter((place) => place[0] !== string || (this.#many && place[1] !== fret));
    // On the head of a string that sounds, a tap of a chord's mutes it.
    const mutes = !this.#many && fret === 0 && this.#places.length > others.length;
    this.#set(there || mutes ? others : [...others, [string, fret]]);
  }

  /** @type {(event: Event) => void} */
  #tap(event) {
    const cell = /** @type {HTMLElement | null} */ (targetOf(event).closest("[role=gridcell]"));
    if (!cell) return;
    this.#at = { string: Number(cell.dataset.string), fret: Number(cell.dataset.fret) };
    this.#put(this.#at.string, this.#at.fret);
    this.focus();
  }

  /** @type {(event: KeyboardEvent) => void} */
  #pressed(event) {
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    if (event.key === " " && event.repeat) event.preventDefault();
    else if (this.key(event.key)) event.preventDefault();
  }

  /**
   * Arrows go where they point on the screen; the space bar sets. True if the key was one of these.
   * @type {(key: string) => boolean}
   */
  key(key) {
    if (key === " ") this.#put(this.#at.string, this.#at.fret);
    else if (STEPS[key]) this.#move(STEPS[key]);
    else return false;
    this.focus();
    return true;
  }

  /** @type {(step: [number, number]) => void} */
  #move([right, down]) {
    const flip = this.#left ? -1 : 1;
    const [along, lower] = WIDE.matches ? [right * flip, down] : [down, -right * flip];
    if (this.#only) return this.#jump(along, lower);
    const columns = [0, ...this.#views[this.#view]];
    const column = columns.indexOf(this.#at.fret) + along;
    const string = this.#at.string + lower;
    if (column < 0 || column >= columns.length || string < 1 || string > 6) return undefined;
    this.#at = { string, fret: columns[column] };
    return this.#show();
  }

  /**
   * To the nearest place in that direction that can be tapped.
   * @type {(along: number, lower: number) => void}
   */
  #jump(along, lower) {
    const { string, fret } = this.#at;
    const ways = (this.#only ?? [])
      .map((place) => ({ place, ahead: (place[1] - fret) * along + (place[0] - string) * lower, aside: Math.abs(along ? place[0] - string : place[1] - fret) }))
      .filter(({ ahead }) => ahead > 0)
      .sort((one, other) => one.ahead - other.ahead || one.aside - other.aside);
    if (ways.length) this.#at = { string: ways[0].place[0], fret: ways[0].place[1] };
    this.#show();
  }

  /** @type {(string: number, fret: number) => HTMLElement | undefined} */
  #cell(string, fret) {
    return all(this.element, `[data-string="${string}"][data-fret="${fret}"]`)[0];
  }

  #draw() {
    const wide = WIDE.matches;
    const shown = this.#views[this.#view];
    const columns = [0, ...shown];
    // Upright: low string left. Across: high string on top, as one looks down on it. Left-handed: mirrored.
    const strings = wide ? [...STRINGS].reverse() : this.#left ? [...STRINGS].reverse() : STRINGS;
    const frets = wide && this.#left ? [...columns].reverse() : columns;
    const head = shown[0] > 1 ? "away" : this.#capo ? "capo" : "nut";
    this.element.className = `neck ${wide ? "across" : "upright"} ${this.#left ? "left-handed" : ""} at-${head}${this.#only ? " excerpt" : ""}`;
    this.element.style.setProperty("--columns", String(columns.length));
    const part = this.#nameOf(shown);
    const name = this.#capo ? _("Neck, {part}, counted from the capo at {capo}", { part, capo: this.#capo }) : _("Neck, {part}", { part });
    /** @type {(fret: number) => boolean} */
    const numbered = (fret) => fret > 0 && (this.#only !== null || NUMBERED.has(fret));
    this.element.replaceChildren(
      el("div", { class: "fret-numbers", "aria-hidden": "true" }, frets.map((fret) => el("span", {}, numbered(fret) ? String(fret) : ""))),
      el("div", { class: "board" }, el("div", { class: "fingerboard", role: "grid", "aria-label": name, "aria-multiselectable": "true" },
        strings.map((string) => el("div", { class: "string", role: "row" }, frets.map((fret) => this.#newCell(string, fret))))),
        el("div", { class: "inlays", "aria-hidden": "true" }, frets.map((fret) => inlay(fret && fret + this.#capo)))),
    );
    this.#show();
  }

  /** @type {(string: number, fret: number) => HTMLElement} */
  #newCell(string, fret) {
    const kind = fret === 0 ? "cell head" : "cell";
    const played = this.#only && this.#has(this.#only, string, fret);
    return el("div", {
      role: "gridcell", class: `${kind}${played ? " played" : ""}`, "data-string": string, "data-fret": fret, "aria-disabled": this.#only && !played ? "true" : null,
    });
  }

  #show() {
    for (const cell of all(this.element, "[role=gridcell]")) {
      const string = Number(cell.dataset.string);
      const fret = Number(cell.dataset.fret);
      const here = this.#has(this.#places, string, fret);
      const before = this.#has(this.#before, string, fret);
      const within = this.#region.some(([low, high]) => fret >= low && fret <= high);
      cell.setAttribute("aria-selected", String(here));
      cell.setAttribute("tabindex", string === this.#at.string && fret === this.#at.fret ? "0" : "-1");
      cell.classList.toggle("band", within);
      cell.classList.toggle("before", before);
      cell.setAttribute("aria-label", listed(", ", this.#placeWords(string, fret), within && _("in the region"), before && _("in the chord before")));
      if (fret === 0) cell.textContent = this.#many ? this.#noteSign(string, here) : this.#headSign(string);
    }
  }

  /** @type {(string: number) => number | null} */
  #sounding(string) {
    return this.#places.find((place) => place[0] === string)?.[1] ?? null;
  }

  /** Where a place is, and what sounds there. @type {(string: number, fret: number) => string} */
  #placeWords(string, fret) {
    if (fret > 0) return _("string {string} fret {fret}", { string, fret });
    const sounds = this.#many ? 0 : this.#sounding(string);
    if (sounds === null) return _("string {string} muted", { string });
    return sounds === 0 ? _("string {string} open", { string }) : _("string {string} at fret {fret}", { string, fret: sounds });
  }

  /**
   * What stands at the head of a chord's string: muted, open, or the fret it has in the other view.
   * @type {(string: number) => string}
   */
  #headSign(string) {
    const sounds = this.#sounding(string);
    if (sounds === null) return "×";
    if (sounds === 0) return "○";
    return this.#views[this.#view].includes(sounds) ? "" : String(sounds);
  }

  /**
   * What stands at the head of a string that takes notes: open, tapped or not; muted in the chord shown.
   * @type {(string: number, here: boolean) => string}
   */
  #noteSign(string, here) {
    if (this.#only && !this.#only.some((place) => place[0] === string)) return "×";
    if (this.#only && !this.#has(this.#only, string, 0)) return "";
    return here ? "●" : "○";
  }
}

/**
 * The inlay that a guitar has at a fret, counted from its nut: none, one, or two at the octaves.
 * @type {(fret: number) => HTMLElement}
 */
const inlay = (fret) => el("span", {}, NUMBERED.has(fret) && el("i"), fret > 0 && fret % 12 === 0 && el("i"));
