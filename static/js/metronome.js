// A metronome. Its clicks are put on the audio clock ahead of time, by a timer that only looks whether the next
// ones are near, so a busy page does not make them late. Without sound the beats go by the page's own clock.

const LOOK_EVERY = 25; // ms
const AHEAD = 0.25; // s of clicks that are always scheduled
const LEAD = 0.15; // s from the start to the first beat
const READY_WITHIN = 400; // ms for the sound to come up; without it the beats are only seen
const LOUDNESS = 0.25;
const KEPT = "click";

/** Whether the player has the click on; kept on this device. */
export const soundOn = () => localStorage.getItem(KEPT) !== "off";
export const keepSound = (on) => localStorage.setItem(KEPT, on ? "on" : "off");

/** The sound, running, or null where there is none (or the player wants none). */
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

export class Metronome {
  #seconds;
  #strong;
  #beat;
  #ended;
  #audio = null;
  #loudness = null;
  #begun = 0;
  #scheduled = 0;
  #shown = -1;
  #timer = null;
  #frame = null;
  #stopped = false;

  /**
   * A beat every `seconds`; `strong` says of each whether it is accented. `beat(n)` is called as each is heard
   * (or would be), `ended()` after the last has passed, `broken()` when the device takes the sound away.
   */
  constructor({ seconds, strong, beat, ended, broken }) {
    this.#seconds = seconds;
    this.#strong = strong;
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

  /** Turns the click on or off while it runs. */
  sound(on) {
    if (this.#loudness) this.#loudness.gain.value = on ? LOUDNESS : 0;
  }

  /** Seconds on the clock that the beats go by. */
  get #now() {
    return this.#audio ? this.#audio.currentTime : performance.now() / 1000;
  }

  #schedule() {
    if (!this.#audio) return;
    while (this.#scheduled < this.#strong.length) {
      const at = this.#begun + this.#scheduled * this.#seconds;
      if (at > this.#now + AHEAD) return;
      this.#click(at, this.#strong[this.#scheduled]);
      this.#scheduled += 1;
    }
  }

  /** One short click: higher where it is accented. */
  #click(at, strong) {
    const sound = new OscillatorNode(this.#audio, { type: "triangle", frequency: strong ? 1760 : 1175 });
    const shape = new GainNode(this.#audio, { gain: 0 });
    shape.gain.setValueAtTime(strong ? 1 : 0.6, at);
    shape.gain.exponentialRampToValueAtTime(0.001, at + 0.04);
    sound.connect(shape).connect(this.#loudness);
    sound.start(at);
    sound.stop(at + 0.05);
  }

  #look() {
    const heard = this.#now - (this.#audio?.outputLatency ?? 0);
    const beat = Math.floor((heard - this.#begun) / this.#seconds);
    if (beat >= this.#strong.length) {
      this.stop();
      return this.#ended();
    }
    if (beat > this.#shown) this.#beat((this.#shown = beat));
    this.#frame = requestAnimationFrame(() => this.#look());
    return undefined;
  }
}
