// A metronome. Its clicks are put on the audio clock ahead of time, by a timer that only looks whether the next
// ones are near, so a busy page does not make them late. Without sound the beats go by the page's own clock.

import { LOCAL } from "./stored.js";

const LOOK_EVERY = 25; // ms
const AHEAD = 0.25; // s of clicks that are always scheduled
const LEAD = 0.15; // s from the start to the first beat
const READY_WITHIN = 400; // ms for the sound to come up; without it the beats are only seen
const LOUDNESS = 0.25;
const PITCHES = [988, 1175, 1397, 1760]; // Hz, by level
const STRENGTHS = [0.25, 0.6, 0.8, 1];

/** How a click sounds: the soft one between beats, a beat, a beat that carries weight, the first of a bar. */
export const SOFT = 0, PLAIN = 1, WEIGHT = 2, FIRST = 3;

/** Whether the player has the click on; kept on this device. */
export const soundOn = () => localStorage.getItem(LOCAL.click) !== "off";
/** @type {(on: boolean) => void} */
export const keepSound = (on) => localStorage.setItem(LOCAL.click, on ? "on" : "off");

/**
 * The sound, running, or null where there is none (or the player wants none).
 * @type {() => Promise<AudioContext | null>}
 */
async function openAudio() {
  if (!soundOn() || !globalThis.AudioContext) return null;
  try {
    const audio = new AudioContext({ latencyHint: "interactive" });
    await Promise.race([audio.resume(), new Promise((resolve) => setTimeout(resolve, READY_WITHIN))]);
    if (audio.state === "running") return audio;
    await audio.close();
  } catch {
    // No sound on this device: the beats are seen.
  }
  return null;
}

/**
 * Clicks on every beat of a list that says of each whether it is accented: what a Metronome takes.
 * @type {(strong: boolean[]) => { click: (n: number) => Time.Click | null, length: number }}
 */
export const clicksOn = (strong) => ({
  click: (n) => (n < strong.length ? { at: n, level: strong[n] ? FIRST : PLAIN } : null),
  length: strong.length,
});

export class Metronome {
  /** @type {number} */ #seconds;
  /** @type {(n: number) => Time.Click | null} */ #click;
  /** @type {number} */ #length;
  /** @type {(n: number) => void} */ #beat;
  /** @type {() => void} */ #ended;
  /** @type {AudioContext | null} */ #audio = null;
  /** @type {GainNode | null} */ #loudness = null;
  #begun = 0;
  #scheduled = 0;
  #shown = -1;
  /** @type {ReturnType<typeof setInterval> | undefined} */ #timer;
  /** @type {number} */ #frame = 0;
  #stopped = false;

  /**
   * A beat lasts `seconds`. `click(n)` says of the n-th click when it comes, in beats from the start, and its level
   * (null for one that is only seen); null after the last one. It may go on for ever: nothing is kept of it here.
   * `beat(n)` is called as the n-th is heard (or would be), `ended()` after `length` beats, `broken()` when the
   * device takes the sound away.
   * @param {{ seconds: number, click: (n: number) => Time.Click | null, length?: number, beat: (n: number) => void, ended?: () => void, broken: () => void }} how
   */
  constructor({ seconds, click, length = Infinity, beat, ended = () => {}, broken }) {
    this.#seconds = seconds;
    this.#click = click;
    this.#length = length;
    this.#beat = beat;
    this.#ended = ended;
    this.broken = broken;
  }

  /** Begins, from a press or a tap of the player's: browsers let no page sound before one. */
  async start() {
    const audio = await openAudio();
    if (this.#stopped) return void audio?.close();
    this.#audio = audio;
    if (audio) {
      this.#loudness = new GainNode(audio, { gain: LOUDNESS });
      this.#loudness.connect(audio.destination);
      audio.onstatechange = () => !this.#stopped && audio.state !== "running" && this.broken();
    }
    this.#begun = this.#now + LEAD;
    this.#schedule();
    this.#timer = setInterval(() => this.#schedule(), LOOK_EVERY);
    this.#frame = requestAnimationFrame(() => this.#look());
    return undefined;
  }

  stop() {
    this.#stopped = true;
    clearInterval(this.#timer);
    cancelAnimationFrame(this.#frame);
    this.#audio?.close();
    this.#audio = null;
  }

  /**
   * Turns the click on or off while it runs.
   * @type {(on: boolean) => void}
   */
  sound(on) {
    if (this.#loudness) this.#loudness.gain.value = on ? LOUDNESS : 0;
  }

  /** Seconds on the clock that the beats go by. */
  get #now() {
    return this.#audio ? this.#audio.currentTime : performance.now() / 1000;
  }

  #schedule() {
    if (!this.#audio) return;
    for (let next = this.#click(this.#scheduled); next; next = this.#click(this.#scheduled)) {
      const at = this.#begun + next.at * this.#seconds;
      if (at > this.#now + AHEAD) return;
      // One that the page was too busy for is left out: better than many at once.
      if (next.level !== null && at > this.#now) this.#soundAt(at, next.level);
      this.#scheduled += 1;
    }
  }

  /**
   * One short click: higher and stronger by its level.
   * @type {(at: number, level: number) => void}
   */
  #soundAt(at, level) {
    const [audio, loudness] = [this.#audio, this.#loudness];
    if (!audio || !loudness) return;
    const sound = new OscillatorNode(audio, { type: "triangle", frequency: PITCHES[level] });
    const shape = new GainNode(audio, { gain: 0 });
    shape.gain.setValueAtTime(STRENGTHS[level], at);
    shape.gain.exponentialRampToValueAtTime(0.001, at + 0.04);
    sound.connect(shape).connect(loudness);
    sound.start(at);
    sound.stop(at + 0.05);
  }

  #look() {
    const heard = (this.#now - (this.#audio?.outputLatency ?? 0) - this.#begun) / this.#seconds;
    if (heard >= this.#length) {
      this.stop();
      return this.#ended();
    }
    const before = this.#shown;
    while ((this.#click(this.#shown + 1)?.at ?? Infinity) <= heard) this.#shown += 1;
    if (this.#shown > before) this.#beat(this.#shown);
    if (!this.#stopped) this.#frame = requestAnimationFrame(() => this.#look());
    return undefined;
  }
}
