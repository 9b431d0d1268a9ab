// The drill: one question after the other until the time is up.

import { byId, count, DOUBLE_TAP, el, say, trouble } from "../lib/dom.js";
import * as kept from "../device/kept.js";
import { Card } from "../session/question.js";
import { Marks } from "../session/run.js";
import { heldFor, keep, send, startSending, waitingFor } from "../device/sending.js";
import { ask, onDoubled, Refused, reviewId, tabId, Unreachable } from "../device/service.js";
import { Sitting, Watch } from "../device/timing.js";
import { answerDrawing, outcomeView, provisional } from "../session/verdict.js";

const main = byId("main");
const places = { title: byId("question-title"), outcome: byId("outcome"), work: byId("work"), tools: byId("tools"), ledge: byId("ledge") };
const STILL = matchMedia("(prefers-reduced-motion: reduce)");

let session = null; // as the service gave it, with what happened since
let sitting = null; // its visible seconds
let question = null; // the one on the screen
let card = null; // its inputs, until it is answered
let watch = null;
let line = null; // the running clock line
let last = null; // the last answer: { id, question, given, verdict }
let here = true; // whether this tab still holds the session
let over = false; // whether the service has closed it
let state = "entering"; // then "asking", "played", "judged", "waiting" (nothing to answer on the screen), "ending"
let judgedAt = -Infinity; // when the last answer appeared

const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);
const onTheGuitar = ({ prompt }) => prompt.parts.some((part) => part === "hands" || part === "marks");
const timeIsUp = () => over || sitting.seconds >= session.minutes * 60;

// ---- how it is being answered: by touch, mouse or keyboard -------------------------------------------------

let mode = sessionStorage.getItem("mode") ?? (matchMedia("(pointer: coarse)").matches ? "touch" : "keyboard");
let acts = [];
const touched = () => mode === "touch";

function turn(to) {
  state = to;
  main.dataset.state = to;
}

function act(by) {
  acts.push(by);
  if (state !== "asking" && state !== "played") mode = by;
}

/** The way most acts of this answer were made; of two equal ways, the later one. */
function modeOfAnswer() {
  const counts = new Map();
  for (const by of acts) counts.set(by, (counts.get(by) ?? 0) + 1);
  const most = Math.max(0, ...counts.values());
  mode = [...acts].reverse().find((by) => counts.get(by) === most) ?? mode;
  sessionStorage.setItem("mode", mode);
  return onTheGuitar(question) ? "hands-on" : mode;
}

// ---- coming in ---------------------------------------------------------------------------------------------

/** A tab that held the session goes on with it at once and asks the service meanwhile; another one asks first. */
async function enter() {
  const sent = startSending(heard);
  const local = await kept.session().catch(() => undefined);
  if (local && local.id === sessionStorage.getItem("holds")) {
    take(local, true);
    return verify();
  }
  await Promise.race([sent, new Promise((resolve) => setTimeout(resolve, 1500))]);
  return find(local);
}

/** Finds the session that runs; while the service is away, the one this device knows goes on. */
async function find(local) {
  try {
    const { running } = await ask("GET", "player", undefined, 4);
    if (running) return take(await ask("GET", `sessions/${running.id}?tab=${tabId()}`, undefined, 6));
  } catch (error) {
    if (error instanceof Unreachable && local) return take(local, true);
    return stop("The session is not here.", error.message, button("Try again", () => find(local), { class: "work" }));
  }
  if (local) return location.replace(`/session/${local.id}/closing`);
  return stop("No session is running.", "Start one, and the first card is here.", el("a", { class: "work", href: "/" }, "To the start"));
}

/** Whether the session still runs, and here: it may have gone on in another tab, or ended. */
async function verify() {
  try {
    const given = await ask("GET", `sessions/${session.id}?tab=${tabId()}`);
    sitting.atLeast(given.visible_seconds);
    if (given.ended) location.replace(`/session/${session.id}/closing`);
    else if (given.tab !== tabId()) lost();
  } catch (error) {
    if (error instanceof Refused && state !== "ending") stop("This session is gone.", error.message, el("a", { class: "work", href: "/" }, "To the start"));
  }
}

/** Goes on with `given`; `mine` if there is no need to look which tab holds it. */
function take(given, mine = false) {
  session = given;
  over = session.ended;
  here = mine || !session.tab || session.tab === tabId();
  const before = Math.max(session.visible_seconds, kept.seen(session.id));
  if (sitting) sitting.atLeast(before);
  else sitting = new Sitting(before, (seconds) => session && kept.keepSeen(session.id, seconds));
  kept.keepSession(session).catch(() => {});
  const answered = session.questions.filter((one) => one.review).at(-1);
  last = answered && !answered.review.mistap ? { id: answered.review.id, question: answered, verdict: answered.review } : null;
  showLeft();
  if (!here) return elsewhere();
  sessionStorage.setItem("holds", session.id);
  return next();
}

/** Another tab holds the session now. A card that is being answered here may be finished. */
function leftBehind() {
  here = false;
  sessionStorage.removeItem("holds");
  if (state === "judged") showVerdict();
}

function lost() {
  leftBehind();
  if (state !== "judged") elsewhere();
}

function elsewhere() {
  stop(
    "This session is open in another tab.",
    "Nothing is lost: every answer given here is kept and sent.",
    button("Go on here", goOnHere, { class: "work" }),
  );
}

async function goOnHere() {
  try {
    take(await ask("POST", `sessions/${session.id}/here`, { tab: tabId() }), true);
  } catch (error) {
    trouble(places.outcome, error.message, goOnHere);
  }
}

/** Nothing to answer: a heading, a sentence and one step. */
function stop(title, sentence, step) {
  turn("waiting");
  clear();
  main.dataset.part = "none";
  places.title.replaceChildren(el("span", { class: "said" }, title));
  places.outcome.replaceChildren(el("p", {}, sentence));
  places.ledge.replaceChildren(step);
  say(`${title} ${sentence}`);
}

function clear() {
  card?.remove();
  card = null;
  line?.cancel();
  byId("why").hidden = true;
  for (const place of Object.values(places)) place.replaceChildren();
}

// ---- one question ------------------------------------------------------------------------------------------

/** The first question without an answer. A refused answer leaves its question open, once. */
function openQuestion() {
  const held = heldFor(session.id).filter((entry) => !entry.review);
  const closed = (n) => {
    const mine = held.filter((entry) => entry.question === n);
    return mine.length > 1 || mine.some((entry) => entry.state === "waiting");
  };
  return session.questions.find((one) => !one.review && !closed(one.question));
}

function next() {
  question = timeIsUp() ? undefined : openQuestion();
  if (!question) return finish();
  if (onTheGuitar(question) && warmUpDue()) return warmUp();
  return put();
}

function put() {
  const name = `${session.id}:${question.question}`;
  const seenBefore = localStorage.getItem("shown") === name;
  const draft = readDraft();
  clear();
  acts = [];
  turn("asking");
  byId("why").hidden = !session.settings.why;
  byId("why").textContent = question.reason;
  card = new Card({ prompt: question.prompt, session, places: { ...places, main }, draft, keep: keepDraft, touched, answered, played });
  showMistap();
  card.focus();
  watch = new Watch();
  if (draft.played) return showPlayed(draft.played.seconds);
  return watch.start(!seenBefore, () => {
    localStorage.setItem("shown", name);
    if (!question.prompt.parts.includes("marks")) startLine(question.allowed[onTheGuitar(question) ? "hands-on" : mode]);
  });
}

/** The thin line: it is full when the chord's bar is over. */
function startLine(seconds) {
  line = byId("clock").animate([{ transform: "scaleX(0)" }, { transform: "scaleX(1)" }], {
    duration: seconds * 1000, fill: "forwards", easing: STILL.matches ? "steps(4)" : "linear",
  });
}

function readDraft() {
  const draft = JSON.parse(sessionStorage.getItem("draft") ?? "{}");
  return draft.session === session.id && draft.question === question.question ? draft : {};
}

function keepDraft(draft) {
  sessionStorage.setItem("draft", JSON.stringify({ ...draft, session: session.id, question: question.question }));
}

/** On the guitar: the clock stops (a run has its own length), the answer appears, and the player says how it was. */
function played(length) {
  const measured = watch.stop();
  const seconds = length ?? measured;
  keepDraft({ played: { seconds } });
  showPlayed(seconds);
}

function showPlayed(seconds) {
  card.remove();
  turn("played");
  line?.pause();
  const said = (given) => performance.now() - judgedAt >= DOUBLE_TAP && judge(given, seconds);
  const { chord, description } = question.answer;
  places.outcome.replaceChildren(el("p", { class: "result" }, el("strong", { class: "chord" }, chord)), el("p", { class: "quiet" }, description));
  places.work.replaceChildren(answerDrawing(question));
  const asking = question.prompt.parts.includes("marks") ? showMarks(said) : showWord(said);
  judgedAt = performance.now();
  places.title.focus({ preventScroll: true });
  say(`${chord}. ${description} ${asking}`);
}

function showWord(said) {
  places.ledge.replaceChildren(
    el("p", { class: "ledge-says", id: "was-it" }, "Was it right?"),
    button("No", () => said({ right: false }), { "aria-describedby": "was-it", "data-key": "n" }),
    button("Yes", () => said({ right: true }), { "aria-describedby": "was-it", "data-key": "y" }),
  );
  return "Was it right?";
}

function showMarks(said) {
  const marks = new Marks(question.prompt.steps, (right) => said({ marks: right }));
  places.work.prepend(marks.element);
  places.ledge.replaceChildren(el("p", { class: "ledge-says" }, "Tap what was fumbled."), marks.button);
  return "Mark what was fumbled.";
}

const answered = (given) => judge(given, watch.stop());

function judge(given, seconds) {
  if (state !== "asking" && state !== "played") return;
  turn("judged");
  judgedAt = performance.now();
  line?.pause();
  const entry = {
    id: reviewId(), session: session.id, question: question.question, card: question.card, given,
    seconds: seconds === null ? null : Math.round(seconds * 1000) / 1000, mode: modeOfAnswer(), answered_at: Date.now(),
  };
  last = { id: entry.id, question, given, verdict: provisional(question, entry) };
  sessionStorage.removeItem("draft");
  sitting.keep();
  card.remove();
  showVerdict();
  keep(entry);
}

function showVerdict() {
  const { verdict, given } = last;
  places.outcome.replaceChildren(...outcomeView(question, { ...verdict, given }));
  if (!here) places.outcome.append(el("p", { class: "notice" }, "This session goes on in another tab. Your answer here is kept."));
  places.work.replaceChildren(answerDrawing(question, verdict));
  places.ledge.replaceChildren(
    here ? button(timeIsUp() ? "That was the time" : "Next", forward, { class: "work" }) : button("Go on here", goOnHere, { class: "work" }),
  );
  places.ledge.querySelector(".work").focus({ preventScroll: true });
  showMistap();
  say([`${verdict.outcome}.`, `${question.answer.chord}.`, ...verdict.words].join(" "));
}

function forward() {
  if (performance.now() - judgedAt >= DOUBLE_TAP) next();
}

// ---- what the service says ---------------------------------------------------------------------------------

/** A batch came through: the final verdicts, further questions, and who holds the session. */
function heard(id, reply, entries) {
  if (!session || id !== session.id) return;
  for (const item of reply.items) {
    const entry = entries.find((one) => one.id === item.id);
    if (item.status === "refused") refused(item);
    else settle(entry, item);
  }
  for (const one of reply.next) {
    if (!session.questions.some((known) => known.question === one.question)) insert(one);
  }
  over ||= reply.over;
  kept.keepSession(session).catch(() => {});
  if (here && !reply.here) leftBehind();
}

/** Puts a further question where it belongs: behind the one it comes after and those that came there before. */
function insert(one) {
  const { questions } = session;
  const follows = (each, n) => each?.after != null && (each.after === n || follows(questions.find((known) => known.question === each.after), n));
  let at = one.after == null ? questions.length : questions.findIndex((known) => known.question === one.after) + 1;
  while (one.after != null && follows(questions[at], one.after)) at += 1;
  questions.splice(at, 0, one);
}

function settle(entry, item) {
  const one = session.questions.find((known) => known.question === entry.question);
  const { id, outcome, words, drawing } = item;
  if (one) one.review = { id, outcome, words, drawing, mistap: false };
  if (last?.id !== item.id) return;
  const before = item.status === "already answered" ? ["This card had been answered; the first answer stands."] : [];
  last.verdict = { ...item, words: [...before, ...item.words] };
  if (state === "judged") showVerdict();
}

function refused(item) {
  if (last?.id !== item.id || state !== "judged") return;
  last.verdict = { ...last.verdict, words: [`Not taken: ${item.reason}`] };
  showVerdict();
  last = null;
  showMistap();
}

function showMistap() {
  byId("mistap").hidden = !last || !here;
}

function takeBack() {
  if (!last) return;
  keep({ id: `mistap-${last.id}`, session: session.id, review: last.id, answered_at: Date.now() });
  if (last.question.review) last.question.review.mistap = true;
  if (state === "judged") places.outcome.append(el("p", {}, "Taken back as a mis-tap."));
  say("Taken back as a mis-tap.");
  last = null;
  showMistap();
}

// ---- the end -----------------------------------------------------------------------------------------------

function finish() {
  sitting.keep();
  stop(timeIsUp() ? "That is the time." : "That was the last card.", "One moment, the closing page comes.", button("Send now", close, { class: "work" }));
  turn("ending");
  close();
}

/** Ends the session once every answer is through; tries again by itself until then. */
async function close() {
  await send();
  if (state !== "ending") return;
  if (!timeIsUp() && openQuestion()) return void next();
  const waiting = waitingFor(session.id).length;
  try {
    if (waiting) throw new Unreachable(`${count(waiting, "answer")} not sent yet. The closing page comes when the service answers.`);
    await ask("POST", `sessions/${session.id}/end`, { visible_seconds: sitting.seconds });
  } catch (error) {
    if (!(error instanceof Refused)) {
      places.outcome.replaceChildren(el("p", {}, error.message));
      setTimeout(close, 3000);
      return;
    }
  }
  location.replace(`/session/${session.id}/closing`);
}

// ---- before the first hands-on of a day --------------------------------------------------------------------

/** The player's day, as the settings cut it. */
const today = () => new Date(Date.now() - session.settings.day_start * 3600e3).toDateString();

const warmUpDue = () => localStorage.getItem("warmed-up") !== today();

function warmUp() {
  const ready = () => {
    localStorage.setItem("warmed-up", today());
    sitting.hold(false);
    put();
  };
  sitting.hold(true); // Warming up takes nothing from the session.
  stop(
    "Pick up the guitar.",
    "First today with the hands: play something slow and easy for a minute, so that they are warm. Then play what is asked: tap Played when a chord rings; a run goes with the click. Stop if it hurts; pain, numbness or tingling that stays is for a doctor or physiotherapist.",
    button("Ready", ready, { class: "work" }),
  );
  places.ledge.querySelector(".work").focus({ preventScroll: true });
}

// ---- the bar and the keyboard ------------------------------------------------------------------------------

function showLeft() {
  const minutes = Math.ceil(session.minutes - sitting.seconds / 60);
  byId("guitar").textContent = guitar(session.settings);
  byId("left").textContent = timeIsUp() ? "time is up: last card" : minutes > 1 ? `${minutes} min left` : "last minute";
}

/** What is not plain about the guitar that the answers are for. */
function guitar({ capo, tuning }) {
  return [capo && `capo ${capo}`, tuning !== "standard" && tuning].filter(Boolean).map((each) => ` · ${each}`).join("");
}

const dialog = byId("keys");
const singleKeys = byId("single-keys");

/** A text field takes the letters itself; while it is empty, only those that begin a chord. */
function fieldTakes(event) {
  if (!event.target.matches("input[type=text]")) return false;
  return event.target.value !== "" || /^([a-g]|backspace|delete)$/i.test(event.key);
}

function pressed(event) {
  if (event.ctrlKey || event.metaKey || event.altKey || event.isComposing || dialog.open) return;
  if (!["Tab", "Shift", "CapsLock"].includes(event.key)) {
    act(pointer === "touch" && event.target.matches("input") ? "touch" : "keyboard");
  }
  if (event.defaultPrevented || event.repeat) return;
  if (event.key === "Enter") return enterPressed(event);
  if (event.target.closest("button, a, label") && event.key === " ") return;
  if (!singleKeys.checked || (event.key !== "?" && fieldTakes(event))) return;
  if (meaning(event.key)) event.preventDefault();
}

function enterPressed(event) {
  if (event.target.closest("button, a, summary")) return;
  event.preventDefault();
  if (state === "asking") card.check();
  else places.ledge.querySelector(".work")?.click();
}

/** What a single key means here; true if it meant something. */
function meaning(key) {
  const named = main.querySelector(`[data-key="${CSS.escape(key.toLowerCase())}"]`);
  if (named?.checkVisibility()) named.click();
  else if (key === "?") dialog.showModal();
  else if (key.toLowerCase() === "t" && !byId("mistap").hidden) takeBack();
  else return state === "asking" && card.key(key);
  return true;
}

let pointer = null;
document.addEventListener("pointerdown", (event) => {
  pointer = event.pointerType === "mouse" ? "mouse" : "touch";
  act(pointer);
});
document.addEventListener("keydown", pressed);
addEventListener("pageshow", (event) => event.persisted && session && verify());
byId("mistap").addEventListener("click", takeBack);
byId("keys-open").addEventListener("click", () => dialog.showModal());
singleKeys.checked = localStorage.getItem("single-keys") !== "off";
singleKeys.addEventListener("change", () => localStorage.setItem("single-keys", singleKeys.checked ? "on" : "off"));
setInterval(() => session && sitting && showLeft(), 2000);
onDoubled(lost);
navigator.serviceWorker?.register("/offline.js").then(
  () => navigator.serviceWorker.controller?.postMessage("keep"),
  () => {}, // Without it, only a reload while the service is away waits for the service.
);
enter();
