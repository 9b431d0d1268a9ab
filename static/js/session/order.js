// The order of a session's questions: which one is open, and how they are sorted.

/**
 * The first question without an answer. A refused answer leaves its question open, once.
 * @type {(questions: Api.Question[], entries: Kept.Entry[]) => Api.Question | undefined}
 */
export function openQuestion(questions, entries) {
  const answers = entries.filter((entry) => !entry.review);
  /** @type {(number: number) => boolean} */
  const closed = (number) => {
    const mine = answers.filter((entry) => entry.question === number);
    return mine.length > 1 || mine.some((entry) => entry.state === "waiting");
  };
  return questions.find((question) => !question.review && !closed(question.question));
}

/**
 * Sorts the questions into the order of play that the service gives, by their numbers. It gives none if nothing changed.
 * @type {(questions: Api.Question[], order: number[]) => void}
 */
export function arrange(questions, order) {
  if (!order.length) return;
  const places = new Map(order.map((number, place) => [number, place]));
  /** @type {(question: Api.Question) => number} */
  const place = (question) => places.get(question.question) ?? order.length;
  questions.sort((one, other) => place(one) - place(other));
}
