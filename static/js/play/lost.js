// Lost: from some bar of the tune, what comes next, and where is it. The number is tapped; the chord is played on the
// guitar against the clock, and the player says whether it was right.

import { all, DOUBLE_TAP, drawing, el, into, listed, say } from "../lib/dom.js";
import { bigNumber, chordWords } from "./chart.js";
import { chance, lostIn, nextSounding } from "./timeline.js";
import { Watch } from "../device/timing.js";
import { _, ngettext } from "../lib/words.js";

const STILL = matchMedia("(prefers-reduced-motion: reduce)");

/** @type {(label: Dom.Children, onclick: () => unknown, attributes?: Record<string, unknown>) => HTMLButtonElement} */
const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);

/** @typedef {{ answered: (answer: Api.Played) => void, stopped: (sentences: string[], kept: boolean) => void }} LostCalls */

export class Lost {
  /** @type {Time.Bar[]} */ #bars;
  /** @type {Api.PlayPart} */ #part;
  /** @type {number} */ #tempo;
  /** @type {() => number} */ #random;
  /** @type {LostCalls} */
  #calls;
  /** @type {Time.Bar | null} */ #bar = null;
  /** @type {Time.Next | null} */ #next = null;
  /** @type {Watch | null} */ #watch = null;
  #shownAt = 0;
  #tally = { known: 0, asked: 0, right: 0, inTime: 0, played: 0 };

  /**
   * `calls` are `answered(answer)` with what is to be kept, `stopped(sentences, any)` with how it went and whether
   * anything was kept. `seed` makes the row of bars.
   * @param {{ bars: Time.Bar[], part: Api.PlayPart, tempo: number, seed: number, calls: LostCalls, ledge: HTMLElement, clock: HTMLElement }} how
   */
  constructor({ bars, part, tempo, seed, calls, ledge, clock }) {
    this.#bars = bars;
    this.#part = part;
    this.#tempo = tempo;
    this.#random = chance(seed);
    this.#calls = calls;
    this.ledge = ledge;
    this.clock = clock;
    this.title = el("h2", { class: "lost-asked", tabindex: -1 });
    this.work = el("div", { class: "lost-work" });
    this.element = el("div", { class: "lost" }, this.title, this.work);
  }

  /**
   * Whether there is anything to be lost in.
   * @type {(bars: Time.Bar[]) => boolean}
   */
  static possible = (bars) => lostIn(bars, () => 0) !== null;

  begin() {
    const whole = { first: 0, last: this.#bars.length - 1, loop: true };
    this.#bar = lostIn(this.#bars, this.#random, this.#bar?.number);
    this.#next = this.#bar && nextSounding(this.#bars, whole, this.#bar);
    this.#line(null);
    if (this.#bar) this.#ask(this.#bar);
  }

  /** The chord that comes next, its move, and the card of that, if the guitar has room for it. */
  get #wanted() {
    if (!this.#next || this.#next.step.move === null) throw new Error("no chord comes next");
    const { step } = this.#next;
    const move = this.#part.moves[this.#next.step.move];
    return { step, move, card: move.card === null ? null : this.#part.cards[move.card] };
  }

  /** The seconds within which it is in time. */
  get #allowed() {
    const { move, card } = this.#wanted;
    return (move.beats * 60) / this.#tempo + (card?.granted ?? 0);
  }

  /** @type {(key: string) => boolean} */
  key(key) {
    if (this.state !== "asking" || !/^[1-7]$/.test(key)) return false;
    const fitting = all(this.work, "[data-degree]").filter((each) => each.dataset.degree === key);
    if (fitting.length === 1) fitting[0].click();
    else if (fitting.length) fitting[(fitting.findIndex((choice) => choice === document.activeElement) + 1) % fitting.length].focus();
    return fitting.length > 0;
  }

  state = "asking";

  // ---- what comes next

  /** @type {(here: Time.Bar) => void} */
  #ask({ name, bar, of, steps }) {
    this.state = "asking";
    const place = listed(", ", name, _("bar {bar} of {count}", { bar: bar + 1, count: of }));
    into(this.title, el("span", { class: "quiet" }, place), el("span", { class: "lost-here" }, steps.map((step) => el("span", {}, bigNumber(step), " ", el("small", {}, step.rest ? _("no chord") : step.chord)))), el("span", { class: "lost-what" }, _("What comes next?")));
    into(this.work, el("div", { class: "pad lost-choices", role: "group", "aria-label": _("What comes next") }, this.#choices().map((step) =>
      button(bigNumber(step), () => this.#say(step), { "data-degree": step.number.replace(/^[♭♯b#]*/, "")[0], "aria-label": step.number }))));
    into(this.ledge, button(_("Stop"), () => this.stop(), { "data-key": "escape" }));
    this.title.focus({ preventScroll: true });
    say(_("{place}: {chords}. What comes next?", { place, chords: steps.map(chordWords).join("; ") }));
  }

  /** Every number of the tune once, in the order of the scale. */
  #choices() {
    const numbers = new Map();
    for (const { steps } of this.#bars) for (const step of steps) if (!step.rest && !numbers.has(step.number)) numbers.set(step.number, step);
    return [...numbers.values()].sort((one, other) => order(one.number) - order(other.number));
  }

  /** @type {(step: Time.Step) => void} */
  #say(step) {
    if (this.state !== "asking") return;
    const { step: wanted, card } = this.#wanted;
    const right = step.number === wanted.number;
    this.#tally.asked += 1;
    this.#tally.known += Number(right);
    this.state = "said";
    const { number, chord } = wanted;
    const words = right ? _("Right: {number}, {chord}.", { number, chord }) : _("Not {given}: next comes {number}, {chord}.", { given: step.number, number, chord });
    into(this.title, el("span", { class: right ? "said-right" : "said-wrong" }, words), el("span", { class: "lost-here" }, el("span", {}, bigNumber(wanted), " ", el("small", {}, wanted.shape ? _("{chord}, shape {shape}", { chord, shape: wanted.shape }) : chord))), el("span", { class: "lost-what" }, card ? (this.#part.box ? _("Where is it, in box {box}?", { box: this.#part.box }) : _("Where is it, near the nut?")) : _("Your guitar has no room for it in this box.")));
    into(this.work);
    if (card) this.#find();
    else into(this.ledge, button(_("Stop"), () => this.stop(), { "data-key": "escape" }), button(_("Next"), () => this.begin(), { class: "work" }));
    all(this.ledge, "button").at(-1)?.focus({ preventScroll: true });
    say(listed(" ", words, card && _("Where is it?")));
  }

  // ---- where is it

  #find() {
    into(this.ledge, button(_("Stop"), () => this.stop(), { "data-key": "escape" }), button(_("Played"), () => this.#played(), { class: "work" }));
    this.#watch = new Watch();
    this.#shownAt = performance.now();
    this.#watch.start(true, () => this.#line(this.#allowed));
  }

  /**
   * The thin line: full when the chord is over in the tune.
   * @type {(seconds: number | null) => void}
   */
  #line(seconds) {
    for (const each of this.clock.getAnimations()) each.cancel();
    if (seconds === null) return;
    this.clock.animate([{ transform: "scaleX(0)" }, { transform: "scaleX(1)" }], { duration: seconds * 1000, fill: "forwards", easing: STILL.matches ? "steps(4)" : "linear" });
  }

  #played() {
    if (this.state !== "said" || performance.now() - this.#shownAt < DOUBLE_TAP) return;
    const seconds = this.#watch?.stop() ?? null;
    for (const each of this.clock.getAnimations()) each.pause();
    this.state = "played";
    this.#shownAt = performance.now();
    const { card } = this.#wanted;
    if (!card) return;
    const { chord, description, drawing: svg } = card;
    into(this.work, el("p", { class: "quiet" }, description), drawing(svg, "drawing answer-drawing"));
    into(this.ledge, el("p", { class: "ledge-says", id: "was-it" }, _("Was it right?")),
      button(_("No"), () => this.#judge(false, seconds), { "aria-describedby": "was-it", "data-key": "n" }),
      button(_("Yes"), () => this.#judge(true, seconds), { "aria-describedby": "was-it", "data-key": "y" }));
    this.title.focus({ preventScroll: true });
    say(_("{chord}. {description} Was it right?", { chord, description }));
  }

  /** @type {(right: boolean, seconds: number | null) => void} */
  #judge(right, seconds) {
    if (this.state !== "played" || performance.now() - this.#shownAt < DOUBLE_TAP) return;
    const { card, beats } = this.#wanted.move;
    const inTime = right && seconds !== null && seconds <= this.#allowed;
    this.#tally.played += 1;
    this.#tally.right += Number(right);
    this.#tally.inTime += Number(inTime);
    this.#calls.answered({ card, beats, right, seconds: seconds === null ? null : Math.round(seconds * 1000) / 1000 });
    this.begin();
  }

  // ---- the end

  stop() {
    this.#watch?.stop();
    this.#line(null);
    this.state = "stopped";
    this.#calls.stopped(this.#sum(), this.#tally.played > 0);
  }

  #sum() {
    const { known, asked, right, inTime, played } = this.#tally;
    if (!asked) return [_("No bar was answered.")];
    const sentences = [ngettext("What comes next: {known} of {count} bar known.", "What comes next: {known} of {count} bars known.", asked, { known })];
    if (played) sentences.push(_("On the guitar: {right} of {played} right, {inTime} of them in time.", { right, played, inTime }));
    return sentences;
  }
}

/**
 * Where a number stands in the scale, flat before plain before sharp.
 * @type {(number: string) => number}
 */
function order(number) {
  const [, sign, degree, quality] = /^([♭♯b#]*)(\d)(.*)$/.exec(number) ?? [null, "", "9", number];
  return 10 * Number(degree) + (/[♭b]/.test(sign) ? -2 : sign ? 2 : 0) + (quality ? 0.5 : 0);
}
