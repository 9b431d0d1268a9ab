// What is played of a tune in one sitting: its marks, kept over a reload, and sent once it is over.

import { keep } from "../device/sending.js";
import { reviewId } from "../device/service.js";
import { TAB } from "../device/stored.js";
import { Marks } from "./timeline.js";

/** @typedef {{ session: string, started_at: number, seconds: number, tempo: number }} Begun */

/** A sitting that begins now at this tempo. @type {(tempo: number) => Begun} */
export const begin = (tempo) => ({ session: reviewId(), started_at: Date.now(), seconds: 0, tempo });

/**
 * Keeps a sitting on the device and sends it, with its answers.
 * @type {(tune: { id: string, title: string, jam: string | null }, way: "along" | "lost", begun: Begun, answers: (Api.Played & { id: string })[]) => void}
 */
export function sendSitting(tune, way, { session, started_at, seconds, tempo }, answers) {
  const now = Date.now();
  const body = { session, way, tempo, jam: tune.jam, seconds, started_at, ended_at: now, answers };
  keep({ id: reviewId(), session, post: `play/${tune.id}`, card: tune.title, answered_at: now, body });
}

/** The marks of a sitting that is not over yet. */
export class Played {
  #name;
  marks = new Marks();
  /** @type {Begun | null} */ begun = null;

  /** @param {string} tune */
  constructor(tune) {
    this.#name = TAB.play + tune;
  }

  /** Keeps it over a reload; `seconds` are those of the run that goes on. @type {(seconds: number, box: number) => void} */
  remember(seconds, box) {
    const sitting = { ...this.begun, seconds: (this.begun?.seconds ?? 0) + seconds };
    sessionStorage.setItem(this.#name, JSON.stringify({ marks: this.marks.plain, sitting, box }));
  }

  forget() {
    sessionStorage.removeItem(this.#name);
    this.marks = new Marks();
    this.begun = null;
  }

  /**
   * Takes up what a reload cut off; true if there was something that fits the tune.
   * @type {(part: Api.PlayPart) => boolean}
   */
  takeUp(part) {
    let kept = null;
    try {
      kept = JSON.parse(sessionStorage.getItem(this.#name) ?? "null");
    } catch {
      // What cannot be read was not kept.
    }
    if (!kept?.sitting?.session || kept.box !== part.box) return false;
    this.marks = new Marks(kept.marks);
    this.begun = kept.sitting;
    if (this.marks.moves.length && this.marks.moves.every((move) => move < part.moves.length)) return true;
    this.forget();
    return false;
  }
}
