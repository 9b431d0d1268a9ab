// With the guitar in the hands: warming up before, and how it was afterwards.

import { el, say } from "../lib/dom.js";
import { Marks } from "./run.js";
import { button } from "./screen.js";
import { answerDrawing } from "./verdict.js";
import { _ } from "../lib/words.js";

/** @import { Screen } from "./screen.js" */

/**
 * Asks the player to warm up, which `ready()` ends.
 * @type {(screen: Screen, ready: () => void) => void}
 */
export function askToWarmUp(screen, ready) {
  screen.stop(
    _("Pick up the guitar."),
    _("Warm up first: play something slow and easy for a minute. Then play what is asked. Tap Played when a chord rings; a run goes with the click. Stop if it hurts. If pain, numbness or tingling stays, see a doctor or physiotherapist."),
    button(_("Ready"), ready, { class: "work" }),
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
    el("p", { class: "ledge-says", id: "was-it" }, _("Was it right?")),
    button(_("No"), () => told({ right: false }), { "aria-describedby": "was-it", "data-key": "n" }),
    button(_("Yes"), () => told({ right: true }), { "aria-describedby": "was-it", "data-key": "y" }),
  );
  return _("Was it right?");
}

/** @type {(question: Api.Question, places: Screen["places"], told: (given: Api.Given) => void) => string} */
function askForMarks(question, places, told) {
  const marks = new Marks(question.prompt.steps, (right) => told({ marks: right }));
  places.work.prepend(marks.element);
  places.ledge.replaceChildren(el("p", { class: "ledge-says" }, _("Tap what was fumbled.")), marks.button);
  return _("Mark what was fumbled.");
}
