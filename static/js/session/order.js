// The order of a session's questions: which one is open, and where a further one belongs.

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
 * Puts a further question where it belongs: behind the one it comes after and those that came there before.
 * @type {(questions: Api.Question[], further: Api.Question) => void}
 */
export function insert(questions, further) {
  /** @type {(number: number) => Api.Question | undefined} */
  const known = (number) => questions.find((question) => question.question === number);
  /** @type {(question: Api.Question | undefined, number: number) => boolean} */
  const follows = (question, number) => question?.after != null && (question.after === number || follows(known(question.after), number));
  const { after } = further;
  let at = after == null ? questions.length : questions.findIndex((question) => question.question === after) + 1;
  while (after != null && follows(questions[at], after)) at += 1;
  questions.splice(at, 0, further);
}
