import assert from "node:assert/strict";
import { test } from "node:test";

import "./browser.js";
import { provisional } from "../../static/js/session/verdict.js";

const answer = {
  chord: "A♭", notes: ["A♭", "C", "E♭"], names: ["A♭", "A♭maj7"], numbers: ["4"], frets: ["4665x4"], choices: [["third"]],
  spots: [[[[1, 4]]]], drawing: null, description: "A♭: A♭ C E♭.",
};
const question = (ask = "name") => ({ prompt: { ask }, answer, allowed: { keyboard: 4, touch: 3, mouse: 3, "hands-on": 4 } });
const judged = (given, seconds = 1, ask = "name") => provisional(question(ask), { given, seconds, mode: "keyboard" });

test("a right answer in time is clean, later it is late", () => {
  assert.equal(judged({ name: "Ab" }).outcome, "clean");
  assert.equal(judged({ name: "Ab" }, 4.5).outcome, "late");
  assert.equal(judged({ name: "Ab" }, null).outcome, "late");
  assert.equal(judged({ name: "Ab", hinted: true }).outcome, "late");
});

test("any spelling of a right name is right, the richer chord as well where it is accepted", () => {
  for (const name of ["A♭", "Abma", "ab", "Ab^7", "Abmaj7", "A♭M7"]) assert.equal(judged({ name }).right, true, name);
});

test("another chord is wrong", () => {
  for (const name of ["Abm", "G#", "Ab7", "A"]) assert.deepEqual(judged({ name }).words, ["Not right."], name);
});

test("a name that only the service reads is not called wrong", () => {
  const verdict = judged({ name: "Ab6/9" });
  assert.equal(verdict.right, null);
  assert.equal(verdict.outcome, "not judged yet");
  assert.deepEqual(verdict.words, ["The service will say whether it is right."]);
});

test("one wrong part makes the answer wrong, whatever the others are", () => {
  assert.equal(judged({ name: "Ab6/9", number: "5" }).right, false);
  assert.equal(judged({ name: "Ab", frets: [4, 6, 6, 5, null, 4] }).right, true);
  assert.equal(judged({ name: "Ab", frets: [null, null, null, null, null, null] }).right, false);
});

test("the root stands first where a chord is spelled, the rest in any order", () => {
  assert.equal(judged({ notes: ["A♭", "E♭", "C"] }).right, true);
  assert.equal(judged({ notes: ["C", "A♭", "E♭"] }).right, false);
});

test("every change of a run has to come", () => {
  assert.equal(judged({ marks: [true, true] }).right, true);
  assert.equal(judged({ marks: [true, false] }).right, false);
});

test("what was shown is missed, without words", () => {
  assert.deepEqual([judged({ shown: true }).outcome, judged({ shown: true }).words], ["missed", []]);
});

test("guide tones that are not the example are left to the service", () => {
  assert.equal(judged({ spots: [[[2, 4]]] }, 1, "guide-tones").right, null);
  assert.equal(judged({ spots: [[[1, 4]]] }, 1, "guide-tones").right, true);
});
