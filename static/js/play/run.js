// A run through a tune: the click, where it is, what comes next, and what was fumbled.

import { DOUBLE_TAP, el, into, listed } from "../lib/dom.js";
import { Metronome } from "../device/metronome.js";
import { bigNumber } from "./chart.js";
import { awayWords, nextAt, stepAt, timeline } from "./timeline.js";
import { _ } from "../lib/words.js";

/** @import { Marks } from "./timeline.js" */

const TAKEN = _("The device took the sound away. Go on, or turn the click off first.");

/** What is on the screen while it runs: the chord big, the next one beside it, the beats, the place. */
class Face {
  constructor() {
    this.place = el("p", { class: "play-place" });
    this.number = el("span", { class: "play-number" });
    this.chord = el("span", { class: "play-chord" });
    this.shape = el("span", { class: "play-shape" });
    this.next = el("p", { class: "play-next" });
    this.row = el("p", { class: "beats", "aria-hidden": "true" });
    this.said = el("p", { class: "quiet play-said", role: "status" });
    this.element = el("div", { class: "play-face" }, this.place, el("p", { class: "play-now" }, this.number, el("span", { class: "play-names" }, this.chord, this.shape)), this.next, this.row, this.said);
  }

  /** @type {(step: Time.Step) => void} */
  put(step) {
    into(this.number, bigNumber(step));
    this.chord.textContent = step.rest ? _("no chord") : step.chord;
    this.shape.textContent = step.shape ? _("shape {shape}", { shape: step.shape }) : "";
  }

  /** @type {(next: Time.Next | null) => void} */
  putNext(next) {
    if (!next) return into(this.next, el("span", { class: "quiet" }, _("no other chord comes")));
    const { step, bars } = next;
    this.next.classList.toggle("soon", bars <= 1);
    return into(this.next, el("span", { class: "quiet" }, _("next")), el("strong", {}, bigNumber(step)), el("span", {}, step.rest ? _("no chord") : [step.chord, step.shape && ` (${step.shape})`]), el("span", { class: "quiet" }, awayWords(bars)));
  }

  /** @type {(beat: number, of: number) => void} */
  beats(beat, of) {
    if (this.row.children.length !== of) into(this.row, Array.from({ length: of }, () => el("i")));
    for (const [index, each] of [...this.row.children].entries()) each.classList.toggle("past", index <= beat);
  }
}

export class PlayRun {
  /** @type {Time.Bar[]} */ #bars;
  /** @type {Api.Chart} */ #chart;
  /** @type {Time.How} */ #how;
  /** @type {Marks} */ #marks;
  /** @type {Time.Calls} */ #calls;
  #face = new Face();
  /** @type {Metronome | null} */ #metronome = null;
  /** @type {WakeLockSentinel | null} */ #awake = null;
  #line; // the timeline of the run
  #heard = -1; // the last click that was seen
  /** @type {{ bar: number, beat: number, round: number, step: Time.Step } | null} */
  #at = null; // { bar, beat, round, step } that is on now; null while it counts in
  /** @type {{ move: number, turn: number, at: number } | null} */
  #marked = null; // { move, turn, at }: what was marked last, and when
  /** @type {{ move: number, turn: number, passed: boolean } | null} */
  #sounding = null; // { move, turn, passed }: the chord that sounded last, and whether it is over
  #turns = 0; // rounds of earlier runs of the sitting
  #began = 0;

  /**
   * `how` says what is played: `{ tempo, feel, first, last, loop, from }`. `over()` is called at its end, `paused(why)`
   * when it had to stop, `marked()` whenever what is fumbled may have changed.
   * @param {{ bars: Time.Bar[], chart: Api.Chart, how: Time.How, marks: Marks, turns: number, calls: Time.Calls }} run
   */
  constructor({ bars, chart, how, marks, turns, calls }) {
    this.#bars = bars;
    this.#chart = chart;
    this.#how = how;
    this.#marks = marks;
    this.#turns = turns;
    this.#calls = calls;
    this.#line = timeline(bars, { ...how, time: chart.time });
    this.element = this.#face.element;
  }

  /** Seconds that were played, those that run now included. */
  seconds = 0;

  get turns() {
    return this.#turns;
  }

  /** The bar that sounds, or that it begins with. */
  get bar() {
    return this.#at?.bar ?? this.#how.from;
  }

  /** Whether there is a chord that can be marked, and whether it is. */
  get canMark() {
    return this.#sounding !== null;
  }

  get marked() {
    return this.#sounding !== null && this.#marks.isFumbled(this.#sounding.move, this.#sounding.turn);
  }

  start(from = this.#how.from) {
    this.#how.from = from;
    this.#line = timeline(this.#bars, { ...this.#how, time: this.#chart.time });
    this.#heard = -1;
    this.#at = this.#sounding = null;
    this.#face.said.textContent = "";
    this.#counting(-1);
    this.#metronome = new Metronome({
      seconds: 60 / this.#how.tempo,
      click: this.#line.click,
      length: this.#line.length,
      beat: (n) => this.#beat(n),
      ended: () => this.#over(),
      broken: () => this.#calls.paused(TAKEN),
    });
    this.#metronome.start();
    this.#began = performance.now();
    navigator.wakeLock?.request("screen").then((lock) => (this.#metronome ? (this.#awake = lock) : void lock.release()), () => {});
  }

  /** Halts; `start` goes on at the bar that sounded. */
  halt(why = "") {
    if (!this.#metronome) return;
    this.#metronome.stop();
    this.#metronome = null;
    this.#awake?.release();
    this.#awake = null;
    this.seconds += (performance.now() - this.#began) / 1000;
    this.#turns += 1 + (this.#at?.round ?? 0);
    this.#face.said.textContent = why;
  }

  /** @type {(on: boolean) => void} */
  sound(on) {
    this.#metronome?.sound(on);
  }

  /** Marks the chord that sounds (in a rest, the one before it) as fumbled, or takes that back. */
  fumble() {
    if (!this.#sounding) return;
    const { move, turn } = this.#sounding;
    const again = this.#marked?.move === move && this.#marked.turn === turn;
    if (this.#marked && again && performance.now() - this.#marked.at < DOUBLE_TAP) return;
    this.#marked = { move, turn, at: performance.now() };
    this.#marks.turn(move, turn);
    this.#calls.marked();
  }

  /** @type {(n: number) => void} */
  #beat(n) {
    for (; this.#heard < n; this.#heard += 1) this.#enter(this.#line.click(this.#heard + 1));
    const click = this.#line.click(n);
    if (!click) return undefined;
    if (click.bar === null) return this.#counting(click.beat);
    this.#show();
    this.#calls.marked();
    return undefined;
  }

  /**
   * One click further: the chord before it was gone through if another one sounds now, or the same once more.
   * @type {(click: Time.Placed | null) => void}
   */
  #enter(click) {
    if (!click || click.bar === null) return;
    const { bar, beat, round } = click;
    const step = stepAt(this.#bars[bar], beat);
    const turn = this.#turns + round;
    this.#at = { bar, beat, round, step };
    if (this.#sounding?.move === step.move && this.#sounding.turn === turn) return;
    this.#pass();
    if (step.move !== null) this.#sounding = { move: step.move, turn, passed: false };
  }

  #pass() {
    if (!this.#sounding || this.#sounding.passed) return;
    this.#marks.pass(this.#sounding.move);
    this.#sounding.passed = true;
  }

  /** @type {(beat: number) => void} */
  #counting(beat) {
    const bar = this.#bars[this.#how.from];
    this.#face.place.textContent = _("Count-in, then {place}", { place: this.#place(bar) });
    into(this.#face.number, beat < 0 ? "…" : String(Math.floor(beat) + 1));
    this.#face.chord.textContent = "";
    this.#face.shape.textContent = "";
    this.#face.putNext({ step: bar.steps[0], bar, bars: 1 });
    this.#face.beats(Math.floor(beat), this.#line.counted);
    this.#calls.at(bar.number);
  }

  #show() {
    if (!this.#at) return;
    const { bar: number, beat, step, round } = this.#at;
    const bar = this.#bars[number];
    this.#face.place.textContent = listed(" · ", this.#place(bar), round > 0 && _("round {number}", { number: round + 1 }));
    this.#face.put(step);
    this.#face.putNext(nextAt(this.#bars, this.#how, number, beat));
    this.#face.beats(Math.floor(beat), Math.ceil(bar.beats));
    this.#calls.at(number);
  }

  /** @type {(bar: Time.Bar) => string} */
  #place(bar) {
    return listed(" · ", bar.name, _("bar {bar} of {count}", { bar: bar.bar + 1, count: bar.of }));
  }

  #over() {
    this.#pass();
    this.halt();
    this.#calls.over();
  }
}
