// What is played of a tune, and how: the form above the chart.

import { control, el, inputOf, into, steppers } from "../lib/dom.js";
import { sectionsOf, tapped } from "./timeline.js";
import { _ } from "../lib/words.js";

const BARS = "bars"; // the part that is a range of bars
const SHORT = 16; // bars up to which a tune goes round and round unless the player says otherwise

export class Choices {
  #form;
  /** @type {Time.Bar[]} */ #bars = [];
  /** @type {number[]} */ #taps = [];
  /** Whether the first of two bars was tapped. */ #half = false;
  #usual = 0; // the tune's own tempo

  /**
   * `began(bar)` hears where it begins now, `turned(box)` which box was chosen.
   * @param {HTMLFormElement} form
   * @param {{ began: (bar: number) => void, turned: (box: string) => void }} calls
   */
  constructor(form, { began, turned }) {
    this.#form = form;
    form.addEventListener("submit", (event) => event.preventDefault());
    form.addEventListener("change", (event) => {
      const { name, value } = inputOf(event);
      if (name === "tempo") this.#tempo.value = String(this.tempo);
      else if (name === "box") turned(value);
      else if (["part", "first", "last"].includes(name)) began(this.#changed(name, value));
    });
    steppers(form);
  }

  get #tempo() {
    return control(this.#form, "tempo");
  }

  get #part() {
    return control(this.#form, "part", HTMLSelectElement);
  }

  get #ends() {
    return [control(this.#form, "first"), control(this.#form, "last")];
  }

  set shown(/** @type {boolean} */ shown) {
    this.#form.hidden = !shown;
  }

  /**
   * Fills the form for a tune.
   * @type {(part: Api.PlayPart, bars: Time.Bar[]) => void}
   */
  fill(part, bars) {
    this.#bars = bars;
    this.#usual = part.tempo;
    const sections = sectionsOf(bars);
    into(this.#part,
      el("option", { value: "" }, _("the whole tune")),
      ...(sections.length > 1 ? sections.map((section, number) => el("option", { value: number }, section.name)) : []),
      el("option", { value: BARS }, _("some bars")));
    this.#tempo.value = String(part.tempo);
    control(this.#form, "feel", HTMLSelectElement).value = part.chart.feel ?? "straight";
    control(this.#form, "loop").checked = bars.length <= SHORT;
    this.box = part.box;
    for (const end of this.#ends) end.max = String(bars.length);
    this.#put({ first: 0, last: bars.length - 1 });
  }

  set box(/** @type {number} */ box) {
    control(this.#form, "box", HTMLSelectElement).value = box ? String(box) : "open";
  }

  get feel() {
    return control(this.#form, "feel", HTMLSelectElement).value;
  }

  get loop() {
    return control(this.#form, "loop").checked;
  }

  // ---- the bars

  /** The bars that are played: the whole tune, a section, or those that were chosen. @returns {Time.Range} */
  get range() {
    const { value } = this.#part;
    const most = this.#bars.length;
    if (value === "") return { first: 0, last: most - 1 };
    if (value !== BARS) return sectionsOf(this.#bars)[Number(value)];
    const numbers = this.#ends.map((end) => Math.min(most, Math.max(1, Math.round(Number(end.value)) || 1)) - 1);
    return { first: Math.min(...numbers), last: Math.max(...numbers) };
  }

  /** @type {(range: Time.Range) => void} */
  #put({ first, last }) {
    const [from, to] = this.#ends;
    from.value = String(first + 1);
    to.value = String(last + 1);
  }

  /**
   * Another part, or another end of it; returns the bar that it begins at.
   * @type {(name: string, value: string) => number}
   */
  #changed(name, value) {
    this.#half = false;
    const range = /** @type {HTMLElement | null} */ (this.#form.querySelector("#range"));
    if (range) range.hidden = this.#part.value !== BARS;
    if (name === "part" && value !== "") control(this.#form, "loop").checked = true;
    if (name !== "part") this.#put(this.range);
    return this.range.first;
  }

  /**
   * A tap on a bar: it begins there; where a range is chosen, first one end of it and then the other. Returns the
   * bar that it begins at.
   * @type {(number: number) => number}
   */
  tapBar(number) {
    if (this.#part.value !== BARS) return number;
    const ends = this.#half ? [number, this.range.first] : [number, number];
    this.#half = !this.#half;
    this.#put({ first: Math.min(...ends), last: Math.max(...ends) });
    return Math.min(...ends);
  }

  // ---- the tempo

  get tempo() {
    return this.#within(Math.round(Number(this.#tempo.value)) || this.#usual);
  }

  /** @type {(tempo: number) => number} */
  #within = (tempo) => Math.min(Number(this.#tempo.max), Math.max(Number(this.#tempo.min), tempo));

  /** Faster or slower by so many beats a minute. @type {(by: number) => void} */
  step(by) {
    this.#tempo.value = String(this.#within(this.tempo + by));
  }

  /** One tap of the tempo. */
  tapTempo() {
    this.#taps = [...this.#taps, performance.now()].slice(-8);
    const tempo = tapped(this.#taps, Number(this.#tempo.min), Number(this.#tempo.max));
    if (tempo) this.#tempo.value = String(tempo);
  }
}
