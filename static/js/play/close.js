// After a run: what was fumbled, to be put right, and whether the rest came in time. That makes the answers.

import { count, el } from "../lib/dom.js";
import { bigNumber, chordWords } from "./chart.js";
import { stepAt } from "./timeline.js";

/** "bar 5 of Chorus": where a move comes. */
const whereIs = (bar, several) => [`bar ${bar.bar + 1}`, several && bar.name].filter(Boolean).join(" of ");

export class PlayClose {
  #bars;
  #moves;
  #marks;
  #changed;
  #several;

  /** `done(rest)` hears whether the rest came in time, or that only what was fumbled counts; `nothing()` that none of it does. */
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
    const none = el("button", { type: "button", class: "key", onclick: nothing }, "Keep nothing");
    this.element = el("div", { class: "play-closing" }, this.#sum, el("p", { class: "quiet" }, "Tap a chord to mark it as fumbled, or to take that back."), this.#list, this.#left);
    this.ledge = [none, this.#only, this.#rest];
    this.#show();
  }

  #list;
  #sum;
  #left;
  #rest;
  #only;

  #barOf(move) {
    const [section, bar] = this.#moves[move].at;
    return this.#bars.find((each) => each.section === section && each.bar === bar);
  }

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
      button.lastChild.textContent = fumbles ? `fumbled${fumbles > 1 ? ` ${fumbles} of ${Math.max(times, fumbles)}` : ""}` : "in time";
      button.classList.toggle("fumbled", fumbles > 0);
      button.setAttribute("aria-pressed", String(fumbles > 0));
    }
    const { moves, count: fumbled } = this.#marks;
    const without = moves.filter((move) => !this.#moves[move].card).length;
    this.#sum.textContent = fumbled ? `${count(fumbled, "change")} of ${moves.length} fumbled.` : `${count(moves.length, "change")} played, none fumbled.`;
    this.#left.textContent = without ? `${count(without, "change")} not counted: your guitar has no room for the chord in this box.` : "";
    this.#rest.textContent = fumbled ? "The rest came in time" : "All came in time";
    this.#rest.hidden = !this.#marks.answers(this.#moves, true).length;
    this.#only.textContent = "Only the fumbled ones";
    this.#only.hidden = !this.#marks.answers(this.#moves, false).length;
  }
}
