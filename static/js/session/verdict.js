// What the page says to an answer: at once from the session's own data, then in the service's words.
// The page only compares; why something is wrong is the service's to say.

import { drawing, el, outcomeMark } from "../lib/dom.js";
import { normalName } from "./name.js";
import { _, sayNumber } from "../lib/words.js";

/** @type {(frets: (number | null)[]) => string} */
const code = (frets) => frets.map((fret) => (fret === null ? "x" : fret.toString(36))).join("");

/** @type {(one: unknown, other: unknown) => boolean} */
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

/**
 * Whether a name is one of the answer's, null where the page cannot read it.
 * @type {(name: string, answer: Api.Answer) => boolean | null}
 */
function isNamed(name, answer) {
  const printed = normalName(name);
  return printed === null ? null : answer.names.includes(printed);
}

/**
 * Each part that was given, compared with the accepted answers that came with the session; null where the page
 * cannot tell.
 * @type {(given: Api.Given, answer: Api.Answer) => (boolean | null | undefined)[]}
 */
const compared = ({ right, name, number, frets, choice, spots, notes, marks }, answer) => [
  right,
  name === undefined ? undefined : isNamed(name, answer),
  number === undefined ? undefined : answer.numbers.includes(number),
  frets && answer.frets.includes(code(frets)),
  choice && answer.choices.some((accepted) => same(accepted, choice)),
  spots && answer.spots.some((accepted) => same(accepted, spots)),
  notes && notes[0] === answer.notes[0] && same(notes.toSorted(), answer.notes.toSorted()),
  marks?.every(Boolean),
].filter((part) => part !== undefined);

/**
 * Whether `given` is right; null where only the service can tell: a name that it alone reads, one of many ways.
 * @type {(question: Api.Question, given: Api.Given) => boolean | null}
 */
function isRight({ answer, prompt }, given) {
  if (given.shown) return false;
  const parts = compared(given, answer);
  if (parts.includes(false)) return prompt.ask === "guide-tones" ? null : false;
  return parts.includes(null) ? null : true;
}

/**
 * The provisional verdict, in the shape of the service's.
 * @type {(question: Api.Question, answered: { given: Api.Given, seconds: number | null, mode: Api.Mode }) => Api.Verdict}
 */
export function provisional(question, { given, seconds, mode }) {
  const right = isRight(question, given);
  const allowed = question.allowed[mode];
  const inTime = seconds !== null && seconds <= allowed && !given.hinted;
  const words = given.shown ? [] : [right === null ? _("The service will say whether it is right.") : right ? _("Right.") : _("Not right.")];
  return { right, outcome: right === null ? "not judged yet" : right ? (inTime ? "clean" : "late") : "missed", seconds, allowed, words, drawing: null };
}

/**
 * How long it took, against how long it may take.
 * @type {(verdict: Api.Verdict & { given?: Api.Given }) => string | null}
 */
function timeSaid({ seconds, allowed, right, given }) {
  if (!right) return null;
  if (seconds === null) return _("Time unknown: the page was hidden meanwhile.");
  const times = { seconds: sayNumber(seconds, 1), allowed: sayNumber(allowed, 1) };
  return given?.hinted
    ? _("{seconds} s; in time is up to {allowed} s. With the region marked it counts as late.", times)
    : _("{seconds} s; in time is up to {allowed} s.", times);
}

/**
 * The outcome, the chord and the words, for under the question.
 * @type {(question: Api.Question, verdict: Api.Verdict & { given?: Api.Given }) => HTMLElement[]}
 */
export function outcomeView(question, verdict) {
  const { answer } = question;
  const words = verdict.right || verdict.words.includes(answer.description) ? verdict.words : [...verdict.words, answer.description];
  return [
    el("p", { class: "result" }, el("strong", { class: "chord" }, answer.chord), outcomeMark(verdict.outcome)),
    ...words.map((sentence) => el("p", {}, sentence)),
    el("p", { class: "quiet" }, timeSaid(verdict)),
  ];
}

/**
 * The answer's drawing: the service's (with the player's own beside it) once it is there.
 * @type {(question: Api.Question, verdict?: Api.Verdict) => HTMLElement}
 */
export function answerDrawing(question, verdict) {
  return drawing(verdict?.drawing ?? question.answer.drawing, "drawing answer-drawing");
}
