// The chart of a tune that is played: every bar can be tapped while it rests, the bar that sounds is marked and kept
// in sight while it runs.

import { changeView, sectionTitle } from "../tunes/chartview.js";
import { el } from "../lib/dom.js";
import { _ } from "../lib/words.js";

const STILL = matchMedia("(prefers-reduced-motion: reduce)");

/**
 * A number as it is read from afar: the degree big, what it carries small.
 * @type {(step: Time.Step) => Dom.Child[]}
 */
export function bigNumber(step) {
  if (step.rest) return ["–"];
  const [, degree, quality] = /^([♭♯b#]*\d)?(.*)$/.exec(step.number) ?? [];
  return [degree, quality ? el("small", {}, quality.replace(/^:/, "")) : null];
}

/**
 * A chord in words: "4, E♭7", with its shape where a capo makes it another: "4, E♭7, shape C7".
 * @type {(step: Time.Step) => string}
 */
export const chordWords = (step) => (step.rest ? _("no chord") : [step.number, step.chord, step.shape && _("shape {shape}", { shape: step.shape })].filter(Boolean).join(", "));

export class PlayChart {
  /** @type {Time.Bar[]} */ #bars;
  /** @type {HTMLButtonElement[]} */ #buttons;
  /** @type {HTMLElement} */ #list;
  /** @type {number | null} */ #here = null;

  /**
   * `tapped(number)` hears which bar was tapped while the chart is open.
   * @param {Time.Bar[]} bars
   * @param {Api.Chart} chart
   * @param {(number: number) => void} tapped
   */
  constructor(bars, chart, tapped) {
    this.#bars = bars;
    this.#buttons = bars.map((bar) => el("button", { type: "button", class: "bar-of", onclick: () => tapped(bar.number) }, bar.steps.map(changeView)));
    const sections = chart.sections.map((section, number) => el("section", {},
      sectionTitle(section, chart),
      el("ol", { class: "bars" }, bars.filter((bar) => bar.section === number).map((bar) => el("li", {}, this.#buttons[bar.number])))));
    this.#list = el("div", { class: "chart" }, sections);
    this.element = this.#list;
  }

  /** Whether bars can be tapped. */
  set open(/** @type {boolean} */ open) {
    this.#list.inert = !open;
    if (open) this.#mark(null);
  }

  /**
   * Marks the bars that are played, and where it begins.
   * @type {(range: Time.Range & { from: number }) => void}
   */
  range({ first, last, from }) {
    for (const [number, button] of this.#buttons.entries()) {
      const inside = number >= first && number <= last;
      button.classList.toggle("outside", !inside);
      button.classList.toggle("begin", number === from);
      const bar = { number: number + 1, chords: this.#bars[number].steps.map(chordWords).join("; ") };
      button.setAttribute("aria-label", number === from ? _("Bar {number}: {chords}, begins here", bar)
        : inside ? _("Bar {number}: {chords}", bar) : _("Bar {number}: {chords}, left out", bar));
    }
  }

  /**
   * Marks the bar that sounds and brings it into sight, its line in the middle.
   * @type {(number: number) => void}
   */
  show(number) {
    if (number === this.#here) return;
    this.#mark(number);
    this.#buttons[number].scrollIntoView({ block: "center", inline: "nearest", behavior: STILL.matches ? "instant" : "smooth" });
  }

  /** @type {(number: number | null) => void} */
  #mark(number) {
    if (this.#here !== null) this.#buttons[this.#here].removeAttribute("aria-current");
    if (number !== null) this.#buttons[number].setAttribute("aria-current", "true");
    this.#here = number;
  }
}
