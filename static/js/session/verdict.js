// What the page says to an answer: at once from the session's own data, then in the service's words.
// The page only compares; why something is wrong is the service's to say.

import { drawing, el, outcomeMark } from "../lib/dom.js";
import { normalName } from "./name.js";

const code = (frets) => frets.map((fret) => (fret === null ? "x" : fret.toString(36))).join("");

const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/** How each part is compared with the accepted answers that came with the session; null where the page cannot tell. */
const COMPARED = {
  right: (right) => right,
  name: (name, answer) => {
    const printed = normalName(name);
    return printed === null ? null : answer.names.includes(printed);
  },
  number: (number, answer) => answer.numbers.includes(number),
  frets: (frets, answer) => answer.frets.includes(code(frets)),
  choice: (choice, answer) => answer.choices.some((each) => same(each, choice)),
  spots: (spots, answer) => answer.spots.some((each) => same(each, spots)),
  notes: (notes, answer) => notes[0] === answer.notes[0] && same(notes.toSorted(), answer.notes.toSorted()),
  marks: (marks) => marks.every(Boolean),
};

/** Whether `given` is right; null where only the service can tell: a name that it alone reads, one of many ways. */
function isRight({ answer, prompt }, given) {
  if (given.shown) return false;
  const parts = Object.keys(COMPARED).filter((part) => given[part] !== undefined);
  const compared = parts.map((part) => COMPARED[part](given[part], answer));
  if (compared.includes(false)) return prompt.ask === "guide-tones" ? null : false;
  return compared.includes(null) ? null : true;
}

/** The provisional verdict, in the shape of the service's. */
export function provisional(question, { given, seconds, mode }) {
  const right = isRight(question, given);
  const allowed = question.allowed[mode];
  const inTime = seconds !== null && seconds <= allowed && !given.hinted;
  const words = given.shown ? [] : [right === null ? "The service will say whether it is right." : right ? "Right." : "Not right."];
  return { right, outcome: right === null ? "not judged yet" : right ? (inTime ? "clean" : "late") : "missed", seconds, allowed, words, drawing: null };
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
