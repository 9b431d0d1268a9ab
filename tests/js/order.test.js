import assert from "node:assert/strict";
import { test } from "node:test";

import { arrange, openQuestion } from "../../static/js/session/order.js";

const question = (number, after = null, review = null) => ({ question: number, after, review });
const entry = (number, state) => ({ question: number, state });

test("the first question without an answer is open; one on its way is not", () => {
  const questions = [question(1, null, {}), question(2), question(3)];
  assert.equal(openQuestion(questions, []).question, 2);
  assert.equal(openQuestion(questions, [entry(2, "waiting")]).question, 3);
});

test("a refused answer leaves its question open once", () => {
  assert.equal(openQuestion([question(1)], [entry(1, "refused")]).question, 1);
  assert.equal(openQuestion([question(1)], [entry(1, "refused"), entry(1, "refused")]), undefined);
});

test("a mis-tap closes no question", () => {
  assert.equal(openQuestion([question(1)], [{ ...entry(1, "waiting"), review: "r" }]).question, 1);
});

test("further questions are sorted into the order that the service gives", () => {
  const questions = [question(1), question(2), question(3), question(4)];
  arrange(questions, [1, 4, 2, 3]);
  assert.deepEqual(questions.map((one) => one.question), [1, 4, 2, 3]);
});

test("without an order nothing moves", () => {
  const questions = [question(2), question(1)];
  arrange(questions, []);
  assert.deepEqual(questions.map((one) => one.question), [2, 1]);
});

test("a question that the order does not name yet stays behind the others", () => {
  const questions = [question(5), question(1), question(2)];
  arrange(questions, [2, 1]);
  assert.deepEqual(questions.map((one) => one.question), [2, 1, 5]);
});
