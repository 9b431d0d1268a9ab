// A session as it is drilled: one question after the other, its answer, what the service says to it.

import { byId, DOUBLE_TAP, el, say } from "../lib/dom.js";
import * as kept from "../device/kept.js";
import { heldFor, keep, send, waitingFor } from "../device/sending.js";
import { ask, messageOf, Refused, reviewId, Unreachable } from "../device/service.js";
import { keepWarmedUp, LOCAL, TAB, warmedUp } from "../device/stored.js";
import { Sitting, Watch } from "../device/timing.js";
import { askHowItWas, askToWarmUp } from "./hands.js";
import { arrange, openQuestion } from "./order.js";
import { Card } from "./question.js";
import { button } from "./screen.js";
import { answerDrawing, outcomeView, provisional } from "./verdict.js";
import { _, ngettext, nameOf } from "../lib/words.js";

/** @import { Acts } from "./acts.js" */
/** @import { Screen } from "./screen.js" */

/** @type {(question: Api.Question) => boolean} */
const onTheGuitar = ({ prompt }) => prompt.parts.some((part) => part === "hands" || part === "marks");

/**
 * The last answer, as long as it can be taken back or its verdict may still change.
 * @typedef {{ id: string, question: Api.Question, given?: Api.Given, verdict: Api.Verdict }} Last
 */

export class Drill {
  /** The session as the service gave it, with what happened since. @type {Api.Session} */
  session;
  /** Its visible seconds. @type {Sitting} */
  sitting;
  #screen;
  #acts;
  #goOnHere;
  /** Whether this tab still holds the session. */ #here = true;
  /** Whether the service has closed it. */ #over = false;
  /** @type {Api.Question | undefined} */ #question;
  /** @type {Watch | null} */ #watch = null;
  /** @type {Last | null} */ #last = null;
  #judgedAt = -Infinity; // when the last answer appeared

  /**
   * `goOnHere()` has the session back that another tab holds.
   * @param {Api.Session} session
   * @param {Screen} screen
   * @param {Acts} acts
   * @param {() => void} goOnHere
   */
  constructor(session, screen, acts, goOnHere) {
    this.session = session;
    this.#screen = screen;
    this.#acts = acts;
    this.#goOnHere = goOnHere;
    this.sitting = new Sitting(this.#seenOf(session), (seconds) => kept.keepSeen(this.session.id, seconds));
  }

  /** @type {(session: Api.Session) => number} */
  #seenOf = (session) => Math.max(session.visible_seconds, kept.seen(session.id));

  /**
   * Goes on with the session as it is given; `here` if this tab holds it.
   * @type {(session: Api.Session, here: boolean) => void}
   */
  take(session, here) {
    this.session = session;
    this.#over = session.ended;
    this.#here = here;
    this.sitting.atLeast(this.#seenOf(session));
    kept.keepSession(session).catch(() => {});
    const answered = session.questions.findLast((question) => question.review);
    const review = answered?.review;
    this.#last = answered && review && !review.mistap ? { id: review.id, question: answered, verdict: review } : null;
    this.showLeft();
    if (here) {
      sessionStorage.setItem(TAB.holds, session.id);
      this.next();
    } else this.#elsewhere();
  }

  get #timeIsUp() {
    return this.#over || this.sitting.seconds >= this.session.minutes * 60;
  }

  showLeft() {
    this.#screen.showLeft(this.session, this.#timeIsUp, this.sitting.seconds);
  }

  // ---- in another tab

  /** Another tab holds the session now. A card that is being answered here may be finished. */
  #leftBehind() {
    this.#here = false;
    sessionStorage.removeItem(TAB.holds);
    if (this.#screen.state === "judged") this.#showVerdict();
  }

  lose() {
    this.#leftBehind();
    if (this.#screen.state !== "judged") this.#elsewhere();
  }

  #elsewhere() {
    const step = button(_("Go on here"), this.#goOnHere, { class: "work" });
    this.#screen.stop(_("This session is open in another tab."), _("Nothing is lost: every answer given here is kept and sent."), step);
  }

  // ---- one question

  get #open() {
    return openQuestion(this.session.questions, heldFor(this.session.id));
  }

  next() {
    this.#question = this.#timeIsUp ? undefined : this.#open;
    if (!this.#question) this.#finish();
    else if (onTheGuitar(this.#question) && !warmedUp(this.session.settings.day_start)) this.#warmUp(this.#question);
    else this.#put(this.#question);
  }

  /** @type {(question: Api.Question) => void} */
  #put(question) {
    const { session } = this;
    const screen = this.#screen;
    const name = `${session.id}:${question.question}`;
    const seenBefore = localStorage.getItem(LOCAL.shown) === name;
    const draft = this.#readDraft(question);
    screen.clear();
    this.#acts.begin();
    screen.turn("asking");
    byId("why").hidden = !session.settings.why;
    byId("why").textContent = question.reason;
    const card = new Card({
      prompt: question.prompt, session, places: { ...screen.places, main: screen.main }, draft,
      keep: (putIn) => this.#keepDraft(question, putIn),
      touched: () => this.#acts.touched,
      answered: (given) => this.#judge(question, given, this.#watch?.stop() ?? null),
      played: (length) => this.#played(question, length),
    });
    screen.card = card;
    if (onTheGuitar(question)) screen.places.tools.append(button(_("My hand is tired"), () => this.#restHand(question)));
    this.#showMistap();
    card.focus();
    this.#watch = new Watch();
    if (draft.played) this.#showPlayed(question, draft.played.seconds);
    else this.#watch.start(!seenBefore, () => this.#seen(question, name));
  }

  /**
   * A question is on the screen: the line begins.
   * @type {(question: Api.Question, name: string) => void}
   */
  #seen(question, name) {
    localStorage.setItem(LOCAL.shown, name);
    const mode = onTheGuitar(question) ? "hands-on" : this.#acts.mode;
    if (!question.prompt.parts.includes("marks")) this.#screen.startLine(question.allowed[mode]);
  }

  /** @type {(question: Api.Question) => Input.Draft} */
  #readDraft(question) {
    const draft = JSON.parse(sessionStorage.getItem(TAB.draft) ?? "{}");
    return draft.session === this.session.id && draft.question === question.question ? draft : {};
  }

  /** @type {(question: Api.Question, draft: Input.Draft) => void} */
  #keepDraft(question, draft) {
    sessionStorage.setItem(TAB.draft, JSON.stringify({ ...draft, session: this.session.id, question: question.question }));
  }

  /**
   * On the guitar: the clock stops (a run has its own length), the answer appears, and the player says how it was.
   * @type {(question: Api.Question, length?: number) => void}
   */
  #played(question, length) {
    const measured = this.#watch?.stop() ?? null;
    const seconds = length ?? measured;
    this.#keepDraft(question, { played: { seconds } });
    this.#showPlayed(question, seconds);
  }

  /** @type {(question: Api.Question, seconds: number | null) => void} */
  #showPlayed(question, seconds) {
    this.#screen.card?.remove();
    this.#screen.turn("played");
    this.#screen.pauseLine();
    askHowItWas(question, this.#screen.places, (given) => {
      if (performance.now() - this.#judgedAt >= DOUBLE_TAP) this.#judge(question, given, seconds);
    });
    this.#judgedAt = performance.now();
  }

  /** @type {(question: Api.Question, given: Api.Given, measured: number | null) => void} */
  #judge(question, given, measured) {
    if (!this.#screen.answering) return;
    this.#screen.turn("judged");
    this.#judgedAt = performance.now();
    this.#screen.pauseLine();
    const means = this.#acts.close();
    const mode = onTheGuitar(question) ? /** @type {const} */ ("hands-on") : means;
    const seconds = measured === null ? null : Math.round(measured * 1000) / 1000;
    const id = reviewId();
    this.#last = { id, question, given, verdict: provisional(question, { given, seconds, mode }) };
    sessionStorage.removeItem(TAB.draft);
    this.sitting.keep();
    this.#screen.card?.remove();
    this.#showVerdict();
    keep({ id, session: this.session.id, question: question.question, card: question.card, given, seconds, mode, answered_at: Date.now() });
  }

  #showVerdict() {
    if (!this.#last) return;
    const { question, verdict, given } = this.#last;
    const { outcome, work, ledge } = this.#screen.places;
    outcome.replaceChildren(...outcomeView(question, { ...verdict, given }));
    if (!this.#here) outcome.append(el("p", { class: "notice" }, _("This session goes on in another tab. Your answer here is kept.")));
    work.replaceChildren(answerDrawing(question, verdict));
    const step = this.#here
      ? button(this.#timeIsUp ? _("That was the time") : _("Next"), () => this.#forward(), { class: "work" })
      : button(_("Go on here"), this.#goOnHere, { class: "work" });
    ledge.replaceChildren(step);
    step.focus({ preventScroll: true });
    this.#showMistap();
    say([`${nameOf(verdict.outcome)}.`, `${question.answer.chord}.`, ...verdict.words].join(" "));
  }

  #forward() {
    if (performance.now() - this.#judgedAt >= DOUBLE_TAP) this.next();
  }

  // ---- what the service says

  /**
   * A batch came through: the final verdicts, further questions, and who holds the session.
   * @type {(reply: Api.Batch, entries: Kept.Entry[]) => void}
   */
  hear(reply, entries) {
    const { questions } = this.session;
    for (const item of reply.items) {
      if (item.status === "refused") this.#refuse(item);
      else this.#settle(entries.find((entry) => entry.id === item.id), item);
    }
    this.#add(reply.next);
    arrange(questions, reply.order);
    this.#over ||= reply.over;
    kept.keepSession(this.session).catch(() => {});
    if (this.#here && !reply.here) this.#leftBehind();
  }

  /**
   * The player's hand is tired: cards that need none take the place of those that do, this one too.
   * @type {(question: Api.Question) => Promise<void>}
   */
  async #restHand(question) {
    await send(); // What was answered before counts for what comes now.
    try {
      /** @type {Api.Rested} */
      const reply = await ask("POST", `sessions/${this.session.id}/tired`, { visible_seconds: this.sitting.seconds });
      this.#takeRested(reply);
      if (this.#screen.state === "asking" && this.#question === question) this.next();
    } catch (error) {
      this.#screen.places.outcome.replaceChildren(el("p", { class: "notice" }, messageOf(error)));
    }
  }

  /** @type {(reply: Api.Rested) => void} */
  #takeRested(reply) {
    const { session } = this;
    session.questions = session.questions.filter(({ question }) => !reply.dropped.includes(question));
    this.#add(reply.next);
    arrange(session.questions, reply.order);
    this.#over ||= reply.over;
    kept.keepSession(session).catch(() => {});
  }

  /** @type {(further: Api.Question[]) => void} */
  #add(further) {
    const { questions } = this.session;
    questions.push(...further.filter(({ question }) => !questions.some((known) => known.question === question)));
  }

  /** @type {(entry: Kept.Entry | undefined, item: Api.Item) => void} */
  #settle(entry, item) {
    const question = this.session.questions.find((known) => known.question === entry?.question);
    if (question) question.review = { ...item, mistap: false };
    if (this.#last?.id !== item.id) return;
    const before = item.status === "already answered" ? [_("This card was answered before; the first answer counts.")] : [];
    this.#last.verdict = { ...item, words: [...before, ...item.words] };
    if (this.#screen.state === "judged") this.#showVerdict();
  }

  /** @type {(item: Api.Item) => void} */
  #refuse(item) {
    if (this.#last?.id !== item.id || this.#screen.state !== "judged") return;
    this.#last.verdict = { ...this.#last.verdict, words: [_("Not taken: {reason}", { reason: item.reason })] };
    this.#showVerdict();
    this.#last = null;
    this.#showMistap();
  }

  #showMistap() {
    byId("mistap").hidden = !this.#last || !this.#here;
  }

  /** Takes the last answer back as a mis-tap. */
  takeBack() {
    if (!this.#last) return;
    const { id, question } = this.#last;
    keep({ id: `mistap-${id}`, session: this.session.id, review: id, answered_at: Date.now() });
    if (question.review) question.review.mistap = true;
    if (this.#screen.state === "judged") this.#screen.places.outcome.append(el("p", {}, _("Taken back as a mis-tap.")));
    say(_("Taken back as a mis-tap."));
    this.#last = null;
    this.#showMistap();
  }

  // ---- the end

  #finish() {
    this.sitting.keep();
    const title = this.#timeIsUp ? _("That is the time.") : _("That was the last card.");
    this.#screen.stop(title, _("One moment, the closing page comes."), button(_("Send now"), () => this.#close(), { class: "work" }));
    this.#screen.turn("ending");
    this.#close();
  }

  /** Ends the session once every answer is through; tries again by itself until then. */
  async #close() {
    await send();
    if (this.#screen.state !== "ending") return;
    if (!this.#timeIsUp && this.#open) {
      this.next();
      return;
    }
    const waiting = waitingFor(this.session.id).length;
    try {
      if (waiting) throw new Unreachable(ngettext("{count} answer not sent yet. The closing page comes when the service answers.", "{count} answers not sent yet. The closing page comes when the service answers.", waiting));
      await ask("POST", `sessions/${this.session.id}/end`, { visible_seconds: this.sitting.seconds });
    } catch (error) {
      if (!(error instanceof Refused)) {
        this.#screen.places.outcome.replaceChildren(el("p", {}, messageOf(error)));
        setTimeout(() => this.#close(), 3000);
        return;
      }
    }
    location.replace(`/session/${this.session.id}/closing`);
  }

  /**
   * Before the first hands-on of a day; it takes nothing from the session.
   * @type {(question: Api.Question) => void}
   */
  #warmUp(question) {
    this.sitting.hold(true);
    askToWarmUp(this.#screen, () => {
      keepWarmedUp(this.session.settings.day_start);
      this.sitting.hold(false);
      this.#put(question);
    });
  }
}
