// What the page says to an answer: at once from the session's own data, then in the service's words.
// The page only compares; why something is wrong is the service's to say.

import { drawing, el, outcomeMark } from "./dom.js";
import { normalName } from "./name.js";

const code = (frets) => frets.map((fret) => (fret === null ? "x" : fret.toString(36))).join("");

/** Whether `given` is among the accepted answers that came with the session. */
function isRight({ answer }, given) {
  if (given.shown || given.right === false) return false;
  if (given.name !== undefined && !answer.names.includes(normalName(given.name))) return false;
  if (given.number !== undefined && !answer.numbers.includes(given.number)) return false;
  return given.frets === undefined || answer.frets.includes(code(given.frets));
}

/** The provisional verdict, in the shape of the service's. */
export function provisional(question, { given, seconds, mode }) {
  const right = isRight(question, given);
  const allowed = question.allowed[mode];
  const inTime = seconds !== null && seconds <= allowed && !given.hinted;
  const words = given.shown ? [] : [right ? "Right." : "Not right."];
  return { right, outcome: right ? (inTime ? "clean" : "late") : "missed", seconds, allowed, words, drawing: null };
}

/** How long it took, against how long it may take. */
function timeSaid({ seconds, allowed, right, given }) {
  if (!right) return null;
  if (seconds === null) return "Time unknown: the page was away meanwhile.";
  const took = `${seconds.toFixed(1)} s; in time is up to ${allowed.toFixed(1)} s.`;
  return given?.hinted ? `${took} With the region marked it counts as late.` : took;
}

/** The outcome, the chord and the words, for under the question. */
export function outcomeView(question, verdict) {
  const { answer } = question;
  const words = verdict.right || verdict.words.includes(answer.description) ? verdict.words : [...verdict.words, answer.description];
  return [
    el("p", { class: "result" }, el("strong", { class: "chord" }, answer.chord), outcomeMark(verdict.outcome)),
    ...words.map((sentence) => el("p", {}, sentence)),
    el("p", { class: "quiet" }, timeSaid(verdict)),
  ];
}

/** The answer's drawing: the service's (with the player's own beside it) once it is there. */
export function answerDrawing(question, verdict) {
  return drawing(verdict?.drawing ?? question.answer.drawing, "drawing answer-drawing");
}
