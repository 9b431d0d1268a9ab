import assert from "node:assert/strict";
import { test } from "node:test";

import { insert, openQuestion } from "../../static/js/session/order.js";

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

test("a further question comes behind the one it follows and those that came there before", () => {
  const questions = [question(1), question(2), question(3)];
  insert(questions, question(4, 1));
  insert(questions, question(5, 1));
  insert(questions, question(6, 4));
  insert(questions, question(7));
  assert.deepEqual(questions.map((one) => one.question), [1, 4, 6, 5, 2, 3, 7]);
});
