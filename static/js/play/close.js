// After a run: what was fumbled, to be put right, and whether the rest came in time. That makes the answers.

import { el, within } from "../lib/dom.js";
import { bigNumber, chordWords } from "./chart.js";
import { stepAt } from "./timeline.js";
import { _, ngettext } from "../lib/words.js";

/** @import { Marks } from "./timeline.js" */

/**
 * "bar 5 of Chorus": where a move comes.
 * @type {(bar: Time.Bar, several: boolean) => string}
 */
const whereIs = (bar, several) => (several && bar.name ? _("bar {bar} of {section}", { bar: bar.bar + 1, section: bar.name }) : _("bar {bar}", { bar: bar.bar + 1 }));

export class PlayClose {
  #list;
  #sum;
  #left;
  #rest;
  #only;
  /** @type {Time.Bar[]} */ #bars;
  /** @type {Api.Move[]} */ #moves;
  /** @type {Marks} */ #marks;
  /** @type {() => void} */ #changed;
  /** @type {boolean} */ #several;

  /**
   * `done(rest)` hears whether the rest came in time, or that only what was fumbled counts; `nothing()` that none of it does.
   * @param {{ bars: Time.Bar[], moves: Api.Move[], marks: Marks, changed: () => void, done: (rest: boolean) => void, nothing: () => void }} how
   */
  constructor({ bars, moves, marks, changed, done, nothing }) {
    this.#bars = bars;
    this.#moves = moves;
    this.#marks = marks;
    this.#changed = changed;
    this.#several = new Set(bars.map((bar) => bar.section)).size > 1;
    this.#list = el("ol", { class: "marks play-marks" }, marks.moves.map((move) => el("li", {}, this.#key(move))));
    this.#sum = el("p", { role: "status" });
    this.#left = el("p", { class: "quiet" });
    this.#rest = el("button", { type: "button", class: "work", onclick: () => done(true) });
    this.#only = el("button", { type: "button", class: "key", onclick: () => done(false) });
    const none = el("button", { type: "button", class: "key", onclick: nothing }, _("Keep nothing"));
    this.element = el("div", { class: "play-closing" }, this.#sum, el("p", { class: "quiet" }, _("Tap a chord to mark it as fumbled, or to take that back.")), this.#list, this.#left);
    this.ledge = [none, this.#only, this.#rest];
    this.#show();
  }

  /** @type {(move: number) => Time.Bar} */
  #barOf(move) {
    const [section, number] = this.#moves[move].at;
    const found = this.#bars.find((bar) => bar.section === section && bar.bar === number);
    if (!found) throw new RangeError(`no bar has the move ${move}`);
    return found;
  }

  /** @type {(move: number) => HTMLButtonElement} */
  #key(move) {
    const bar = this.#barOf(move);
    const step = bar.steps.find((each) => each.move === move) ?? stepAt(bar, 0);
    const turn = () => {
      this.#marks.turnWhole(move);
      this.#changed();
      this.#show();
    };
    return el("button", { type: "button", class: "key", "data-move": move, onclick: turn },
      el("strong", { "aria-hidden": "true" }, bigNumber(step)), el("span", { "aria-hidden": "true" }, step.chord),
      el("span", { class: "unseen" }, chordWords(step)), el("span", { class: "quiet" }, whereIs(bar, this.#several)), el("span", { class: "play-state" }));
  }

  #show() {
    for (const button of this.#list.querySelectorAll("button")) {
      const move = Number(button.dataset.move);
      const fumbles = this.#marks.fumbles(move);
      const times = this.#marks.times(move);
      within(button, ".play-state").textContent = !fumbles ? _("in time")
        : fumbles > 1 ? _("fumbled {fumbles} of {times}", { fumbles, times: Math.max(times, fumbles) }) : _("fumbled");
      button.classList.toggle("fumbled", fumbles > 0);
      button.setAttribute("aria-pressed", String(fumbles > 0));
    }
    const { moves, count: fumbled } = this.#marks;
    const without = moves.filter((move) => !this.#moves[move].card).length;
    this.#sum.textContent = fumbled
      ? ngettext("{count} change of {all} fumbled.", "{count} changes of {all} fumbled.", fumbled, { all: moves.length })
      : ngettext("{count} change played, none fumbled.", "{count} changes played, none fumbled.", moves.length);
    this.#left.textContent = without ? ngettext("{count} change not counted: your guitar has no room for the chord in this box.", "{count} changes not counted: your guitar has no room for the chord in this box.", without) : "";
    this.#rest.textContent = fumbled ? _("The rest came in time") : _("All came in time");
    this.#rest.hidden = !this.#marks.answers(this.#moves, true).length;
    this.#only.textContent = _("Only the fumbled ones");
    this.#only.hidden = !this.#marks.answers(this.#moves, false).length;
  }
}
