// A progression on the guitar against the metronome: a bar to count in, every step big with the next one beside
// it, and afterwards a word for each: right or fumbled.

import { el, listed, within } from "../lib/dom.js";
import { clicksOn, keepSound, Metronome, soundOn } from "../device/metronome.js";
import { _, ngettext } from "../lib/words.js";

const COUNT_IN = 4;

/**
 * What is playing at each beat, the bar of the count-in left out: `{ step, beat, of }`.
 * @type {(steps: string[], beats: number[]) => { step: number, beat: number, of: number }[]}
 */
const beatsOf = (steps, beats) => steps.flatMap((_name, step) => Array.from({ length: beats[step] }, (_nothing, beat) => ({ step, beat, of: beats[step] })));

export class Run {
  /** @type {string[]} */ #steps;
  /** @type {{ step: number, beat: number, of: number }[]} */ #beats;
  /** @type {number} */ #seconds;
  /** @type {(seconds?: number) => void} */ #played;
  /** @type {(step: number) => void} */ #stepped;
  /** @type {Metronome | null} */ #metronome = null;
  /** @type {WakeLockSentinel | null} */ #awake = null;
  #away = () => document.hidden && this.#metronome && this.#stop(_("The page was hidden, so the run was stopped."));

  /**
   * `played(seconds)` is called when the run is over, with its length.
   * @param {Input.Options} how
   */
  constructor({ prompt, beatSeconds, tempo, showMe, played, stepped }) {
    this.#steps = prompt.steps;
    this.#beats = beatsOf(prompt.steps, prompt.beats);
    this.#seconds = beatSeconds;
    this.#played = played;
    this.#stepped = stepped;
    this.now = el("p", { class: "run-now" });
    this.next = el("p", { class: "run-next" });
    this.row = el("p", { class: "beats", "aria-hidden": "true" });
    this.said = el("p", { class: "quiet" });
    this.sound = el("button", { type: "button", class: "key", onclick: () => this.#turnSound() });
    this.tools = [this.sound];
    this.element = el("div", { class: "run" }, this.now, this.next, this.row, this.said);
    this.tempo = ngettext("{tempo} bpm, {count} beat; one bar to count in.", "{tempo} bpm, {count} beats; one bar to count in.", this.#beats.length, { tempo });
    this.start = el("button", { type: "button", class: "work", onclick: () => this.check() }, _("Start"));
    this.halt = el("button", { type: "button", class: "key", onclick: () => this.#stop(), "data-key": "escape" }, _("Stop"));
    this.ledge = [this.halt, this.start];
    this.showMe = showMe;
    document.addEventListener("visibilitychange", this.#away);
    this.#showSound();
    this.#rest();
  }

  /** @type {(touched: boolean) => boolean} */
  focus(touched) {
    if (!touched) this.start.focus({ preventScroll: true });
    return !touched;
  }

  remove() {
    document.removeEventListener("visibilitychange", this.#away);
    this.#end();
  }

  /** @type {(key: string) => boolean} */
  key(key) {
    if (key === " ") this.check();
    else if (key.toLowerCase() === "c") this.#turnSound();
    else return false;
    return true;
  }

  /** Begins. */
  check() {
    if (this.#metronome) return;
    const strong = [...Array.from({ length: COUNT_IN }, (_nothing, beat) => beat === 0), ...this.#beats.map(({ beat }) => beat === 0)];
    this.#metronome = new Metronome({
      seconds: this.#seconds,
      ...clicksOn(strong),
      beat: (beat) => this.#show(beat),
      ended: () => this.#over(),
      broken: () => this.#stop(_("The device took the sound away. Start again, or turn it off first.")),
    });
    this.#running(true);
    this.said.textContent = "";
    this.#put("…", this.#steps[0], 0, COUNT_IN);
    this.#metronome.start();
    navigator.wakeLock?.request("screen").then((lock) => (this.#metronome ? (this.#awake = lock) : void lock.release()), () => {});
  }

  /** @type {(beat: number) => void} */
  #show(beat) {
    if (beat < COUNT_IN) return this.#put(String(beat + 1), this.#steps[0], beat + 1, COUNT_IN);
    const { step, beat: place, of } = this.#beats[beat - COUNT_IN];
    if (place === 0) this.#stepped(step);
    return this.#put(this.#steps[step], this.#steps[step + 1], place + 1, of);
  }

  /** @type {(now: string, next: string | undefined, beat: number, of: number) => void} */
  #put(now, next, beat, of) {
    this.now.textContent = now;
    this.next.textContent = next ? _("then {chord}", { chord: next }) : _("the last one");
    this.row.replaceChildren(...Array.from({ length: of }, (_nothing, index) => el("i", { class: index < beat ? "past" : "" })));
  }

  #rest(why = "") {
    this.now.textContent = this.#steps[0];
    this.next.textContent = this.#steps[1] ? _("then {chord}", { chord: this.#steps[1] }) : "";
    this.row.replaceChildren(...Array.from({ length: COUNT_IN }, () => el("i")));
    this.said.textContent = listed(" ", why, this.tempo, _("Begin with the sound low, and turn it up only until you hear the click over the guitar."));
    this.#running(false);
    this.#stepped(0);
  }

  /** @type {(runs: boolean) => void} */
  #running(runs) {
    this.start.hidden = this.showMe.hidden = runs;
    this.halt.hidden = !runs;
    if (runs && document.activeElement === document.body) this.halt.focus({ preventScroll: true });
  }

  #stop(why = "") {
    this.#end();
    this.#rest(why);
    this.focus(false);
  }

  #over() {
    this.#end();
    this.#played(this.#beats.length * this.#seconds);
  }

  #end() {
    this.#metronome?.stop();
    this.#metronome = null;
    this.#awake?.release();
    this.#awake = null;
  }

  #turnSound() {
    keepSound(!soundOn());
    this.#metronome?.sound(soundOn());
    this.#showSound();
  }

  #showSound() {
    this.sound.textContent = soundOn() ? _("Click on") : _("Click off");
  }
}

/** The player's word for every step: right until it is marked as fumbled. `done(marks)` gets true for each right one. */
export class Marks {
  /** @type {boolean[]} */ #right;

  /**
   * @param {string[]} steps
   * @param {(right: boolean[]) => void} done
   */
  constructor(steps, done) {
    this.#right = steps.map(() => true);
    this.element = el("ol", { class: "marks" }, steps.map((step, index) => el("li", {}, this.#key(step, index))));
    this.button = el("button", { type: "button", class: "work", onclick: () => done(this.#right) });
    this.#show();
  }

  /** @type {(step: string, index: number) => HTMLButtonElement} */
  #key(step, index) {
    return el("button", { type: "button", class: "key", "data-key": index + 1, onclick: () => this.#turn(index) }, el("strong", {}, step), el("span"));
  }

  /** @type {(index: number) => void} */
  #turn(index) {
    this.#right[index] = !this.#right[index];
    this.#show();
  }

  #show() {
    for (const [index, key] of this.element.querySelectorAll("button").entries()) {
      within(key, "span").textContent = this.#right[index] ? _("right") : _("fumbled");
      key.classList.toggle("fumbled", !this.#right[index]);
    }
    const fumbled = this.#right.filter((right) => !right).length;
    this.button.textContent = fumbled ? ngettext("{count} fumbled, the rest right", "{count} fumbled, the rest right", fumbled) : _("All right");
  }
}
