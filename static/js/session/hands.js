// With the guitar in the hands: warming up before, and how it was afterwards.

import { el, say } from "../lib/dom.js";
import { Marks } from "./run.js";
import { button } from "./screen.js";
import { answerDrawing } from "./verdict.js";

/** @import { Screen } from "./screen.js" */

/**
 * Asks the player to warm up, which `ready()` ends.
 * @type {(screen: Screen, ready: () => void) => void}
 */
export function askToWarmUp(screen, ready) {
  screen.stop(
    "Pick up the guitar.",
    "First today with the hands: play something slow and easy for a minute, so that they are warm. Then play what is asked: tap Played when a chord rings; a run goes with the click. Stop if it hurts; pain, numbness or tingling that stays is for a doctor or physiotherapist.",
    button("Ready", ready, { class: "work" }),
  );
  screen.step?.focus({ preventScroll: true });
}

/**
 * Shows the answer to what was played and asks how it was; `told(given)` hears it.
 * @type {(question: Api.Question, places: Screen["places"], told: (given: Api.Given) => void) => void}
 */
export function askHowItWas(question, places, told) {
  const { chord, description } = question.answer;
  places.outcome.replaceChildren(el("p", { class: "result" }, el("strong", { class: "chord" }, chord)), el("p", { class: "quiet" }, description));
  places.work.replaceChildren(answerDrawing(question));
  const asking = question.prompt.parts.includes("marks") ? askForMarks(question, places, told) : askForWord(places, told);
  places.title.focus({ preventScroll: true });
  say(`${chord}. ${description} ${asking}`);
}

/** @type {(places: Screen["places"], told: (given: Api.Given) => void) => string} */
function askForWord(places, told) {
  places.ledge.replaceChildren(
    el("p", { class: "ledge-says", id: "was-it" }, "Was it right?"),
    button("No", () => told({ right: false }), { "aria-describedby": "was-it", "data-key": "n" }),
    button("Yes", () => told({ right: true }), { "aria-describedby": "was-it", "data-key": "y" }),
  );
  return "Was it right?";
}

/** @type {(question: Api.Question, places: Screen["places"], told: (given: Api.Given) => void) => string} */
function askForMarks(question, places, told) {
  const marks = new Marks(question.prompt.steps, (right) => told({ marks: right }));
  places.work.prepend(marks.element);
  places.ledge.replaceChildren(el("p", { class: "ledge-says" }, "Tap what was fumbled."), marks.button);
  return "Mark what was fumbled.";
}
