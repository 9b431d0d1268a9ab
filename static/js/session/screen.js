// What stands on the drill page: the places of a question, the thin line, and in what state it all is.

import { byId, el, say } from "../lib/dom.js";
import { _, nameOf } from "../lib/words.js";

/** @typedef {"entering" | "asking" | "played" | "judged" | "waiting" | "ending"} State */

const STILL = matchMedia("(prefers-reduced-motion: reduce)");

/** @type {(label: string, onclick: () => unknown, attributes?: Record<string, unknown>) => HTMLButtonElement} */
export const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);

export class Screen {
  main = byId("main");
  places = { title: byId("question-title"), outcome: byId("outcome"), work: byId("work"), tools: byId("tools"), ledge: byId("ledge") };
  /** The inputs of the question, until it is answered. @type {import("./question.js").Card | null} */
  card = null;
  /** @type {State} */ #state = "entering";
  /** @type {Animation | null} */ #line = null;

  get state() {
    return this.#state;
  }

  /** Whether an answer is being given. */
  get answering() {
    return this.#state === "asking" || this.#state === "played";
  }

  /** @type {(state: State) => void} */
  turn(state) {
    this.#state = state;
    this.main.dataset.state = state;
  }

  clear() {
    this.card?.remove();
    this.card = null;
    this.#line?.cancel();
    byId("why").hidden = true;
    for (const place of Object.values(this.places)) place.replaceChildren();
  }

  /**
   * Nothing to answer: a heading, a sentence and one step.
   * @type {(title: string, sentence: string, step: HTMLElement) => void}
   */
  stop(title, sentence, step) {
    this.turn("waiting");
    this.clear();
    this.main.dataset.part = "none";
    this.places.title.replaceChildren(el("span", { class: "said" }, title));
    this.places.outcome.replaceChildren(el("p", {}, sentence));
    this.places.ledge.replaceChildren(step);
    say(`${title} ${sentence}`);
  }

  /** The one step that the page offers now. */
  get step() {
    return /** @type {HTMLElement | null} */ (this.places.ledge.querySelector(".work"));
  }

  /**
   * The thin line: it is full when the chord's bar is over.
   * @type {(seconds: number) => void}
   */
  startLine(seconds) {
    this.#line = byId("clock").animate([{ transform: "scaleX(0)" }, { transform: "scaleX(1)" }], {
      duration: seconds * 1000, fill: "forwards", easing: STILL.matches ? "steps(4)" : "linear",
    });
  }

  pauseLine() {
    this.#line?.pause();
  }

  /**
   * The bar above: what is left of the session, and what is not plain about the guitar.
   * @type {(session: Api.Session, timeIsUp: boolean, seconds: number) => void}
   */
  showLeft({ minutes, settings }, timeIsUp, seconds) {
    const left = Math.ceil(minutes - seconds / 60);
    byId("guitar").textContent = guitar(settings);
    byId("left").textContent = timeIsUp ? _("time is up: last card") : left > 1 ? _("{minutes} min left", { minutes: left }) : _("last minute");
  }
}

/**
 * What is not plain about the guitar that the answers are for.
 * @type {(settings: Api.Settings) => string}
 */
function guitar({ capo, tuning }) {
  return [capo && _("capo {fret}", { fret: capo }), tuning !== "standard" && nameOf(tuning)].filter(Boolean).map((words) => ` · ${words}`).join("");
}
