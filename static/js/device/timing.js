// Two clocks. The watch measures one answer, from the first paint of its question to the check, on the
// browser's monotonic clock; the sitting counts the seconds that the session was really in view.

/**
 * Calls `painted(now)` once what is in the document now has been painted.
 * @type {(painted: () => void) => void}
 */
function afterPaint(painted) {
  requestAnimationFrame(() => requestAnimationFrame(painted));
}

/** Measures one answer. A page that was hidden meanwhile makes the seconds unknown: null. */
export class Watch {
  /** @type {number | null} */ #from = null;
  #known = true;
  #hide = () => document.hidden && (this.#known = false);

  /**
   * Starts with the next paint; `known` is false if the question was on the screen before (a reload).
   * @type {(known: boolean, painted?: () => void) => void}
   */
  start(known, painted = () => {}) {
    this.#known = known && !document.hidden;
    document.addEventListener("visibilitychange", this.#hide);
    afterPaint(() => {
      this.#from = performance.now();
      painted();
    });
  }

  /**
   * Seconds since the first paint, or null if they are unknown.
   * @type {() => number | null}
   */
  stop() {
    document.removeEventListener("visibilitychange", this.#hide);
    if (this.#from === null || !this.#known) return null;
    return (performance.now() - this.#from) / 1000;
  }
}

/** Counts visible seconds on top of those counted before; `keep(seconds)` is called whenever they stop. */
export class Sitting {
  /** @type {number} */ #before;
  /** @type {number | null} */ #since;
  /** @type {(seconds: number) => void} */ #keep;
  #held = false;

  /**
   * @param {number} before
   * @param {(seconds: number) => void} keep
   */
  constructor(before, keep) {
    this.#before = before;
    this.#keep = keep;
    this.#since = document.hidden ? null : performance.now();
    document.addEventListener("visibilitychange", () => this.#turn(document.hidden));
    addEventListener("pagehide", () => this.#turn(true));
    addEventListener("pageshow", () => this.#turn(document.hidden));
  }

  get seconds() {
    return this.#before + (this.#since === null ? 0 : (performance.now() - this.#since) / 1000);
  }

  /**
   * The service knows of more visible seconds (another tab counted them).
   * @type {(seconds: number) => void}
   */
  atLeast(seconds) {
    this.#before += Math.max(0, seconds - this.seconds);
  }

  keep() {
    this.#keep(this.seconds);
  }

  /**
   * Counts nothing while it is held, in view or not.
   * @type {(held: boolean) => void}
   */
  hold(held) {
    this.#held = held;
    this.#turn(document.hidden);
  }

  /** @type {(away: boolean) => void} */
  #turn(away) {
    const hidden = away || this.#held;
    if (hidden && this.#since !== null) {
      this.#before = this.seconds;
      this.#since = null;
      this.keep();
    } else if (!hidden && this.#since === null) this.#since = performance.now();
  }
}
