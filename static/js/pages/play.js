// Playing along with a tune, and "Lost": what is played and how, the run, what came of it.

import { chartWords } from "../tunes/chartview.js";
import { byId, count, DOUBLE_TAP, el, into, say, steppers, trouble } from "../lib/dom.js";
import { Lost } from "../play/lost.js";
import { keepSound, soundOn } from "../device/metronome.js";
import { PlayChart } from "../play/chart.js";
import { PlayClose } from "../play/close.js";
import { PlayRun } from "../play/run.js";
import { barsOf, Marks, sectionsOf, tapped } from "../play/timeline.js";
import { keep, startSending } from "../device/sending.js";
import { ask, Refused, reviewId } from "../device/service.js";
import { Sitting } from "../device/timing.js";

const BARS = "bars"; // the part that is a range of bars
const SHORT = 16; // bars up to which a tune goes round and round unless the player says otherwise
const BREAK_MINUTES = 20;
const SOUND = "Begin with the sound low, and turn it up only until you hear the click over the guitar.";
const WARM_UP = "First today with the hands: play something slow and easy for a minute, so that they are warm. ";

const place = byId("play");
const how = byId("how");
const work = byId("work");
const ledge = byId("ledge");
const singleKeys = byId("single-keys");
const tune = place.dataset.tune;
const address = new URLSearchParams(location.search);
const jam = address.get("jam");
const draft = `play:${tune}`;

let part = null;
let bars = [];
let chart = null;
let run = null;
let lost = null;
let marks = new Marks();
let sitting = null; // { session, started_at, seconds, tempo } of what is played, until it is kept
let sent = null; // the sitting that was kept last, until the service has it
let from = 0;
let half = false; // whether the first of two bars was tapped
let endedAt = -Infinity; // when a run was ended or closed
let state = "resting"; // resting, running, paused, closing, lost
let taps = [];

const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);
const newSitting = () => ({ session: reviewId(), started_at: Date.now(), seconds: 0, tempo: tempo() });

/** The player's day, as the settings cut it. */
const today = () => new Date(Date.now() - part.settings.day_start * 3600e3).toDateString();

function turn(to) {
  state = to;
  place.dataset.state = to;
  byId("ways").hidden = how.hidden = to !== "resting";
  chart.open = to === "resting";
  byId("rest").hidden = true;
}

// ---- what is played

async function fetchPart(box, then) {
  const query = new URLSearchParams(address);
  if (box) query.set("box", box);
  try {
    part = await ask("GET", `play/${tune}?${query}`);
    byId("trouble").replaceChildren();
    then();
  } catch (error) {
    trouble(byId("trouble"), error.message, error instanceof Refused ? null : () => fetchPart(box, then));
    if (part) how.elements.box.value = part.box;
  }
  place.removeAttribute("aria-busy");
}

function opened() {
  bars = barsOf(part.chart);
  put();
  if (!takeUp()) rest();
}

/** Another box: the same tune with other cards; what was chosen beside it stays. */
const turnBox = (box) => fetchPart(box, () => {
  address.set("box", box);
  history.replaceState(null, "", `?${address}`);
});

function put() {
  byId("title").textContent = part.title;
  document.title = `${part.title} · Anchor Drill`;
  into(byId("about"), chartWords(part.chart), part.jam && el("span", {}, " · ", el("a", { href: `/jams/${part.jam.id}` }, part.jam.name)));
  const sections = sectionsOf(bars);
  into(how.elements.part,
    el("option", { value: "" }, "the whole tune"),
    sections.length > 1 && sections.map((section, number) => el("option", { value: number }, section.name)),
    el("option", { value: BARS }, "some bars"));
  how.elements.tempo.value = part.tempo;
  how.elements.feel.value = part.chart.feel ?? "straight";
  how.elements.loop.checked = bars.length <= SHORT;
  how.elements.box.value = part.box;
  how.elements.first.max = how.elements.last.max = bars.length;
  how.elements.first.value = 1;
  how.elements.last.value = bars.length;
  chart = new PlayChart(bars, part.chart, tappedBar);
  into(byId("chart"), chart.element);
  const link = (entry, words) => entry && el("a", { class: "key", href: `/tunes/${entry.tune}/play?jam=${jam}&entry=${entry.entry}` }, `${words}: ${entry.title}`);
  into(byId("beside"), link(part.before, "Before"), link(part.after, "After"), el("a", { class: "key", href: `/tunes/${tune}/sheet` }, "Sheet"), el("a", { class: "key", href: `/tunes/${tune}` }, "The tune"));
  byId("ways").querySelector("[data-way=lost]").disabled = !Lost.possible(bars);
  showClick();
}

/** The bars that are played: the whole tune, a section, or those that were chosen. */
function range() {
  const { value } = how.elements.part;
  if (value === "") return { first: 0, last: bars.length - 1 };
  if (value !== BARS) return sectionsOf(bars)[Number(value)];
  const within = (input) => Math.min(bars.length, Math.max(1, Math.round(Number(input.value)) || 1)) - 1;
  const [first, last] = [within(how.elements.first), within(how.elements.last)].sort((one, other) => one - other);
  return { first, last };
}

const tempo = () => Math.min(240, Math.max(30, Math.round(Number(how.elements.tempo.value)) || part.tempo));

function begin(number) {
  const { first, last } = range();
  from = Math.min(last, Math.max(first, number));
  chart.range({ first, last, from });
  say(`Bars ${first + 1} to ${last + 1}, begins at ${from + 1}.`);
}

/** A tap on a bar: it begins there; where a range is chosen, first one end of it and then the other. */
function tappedBar(number) {
  if (how.elements.part.value !== BARS) return begin(number);
  const ends = half ? [number, range().first] : [number, number];
  half = !half;
  how.elements.first.value = Math.min(...ends) + 1;
  how.elements.last.value = Math.max(...ends) + 1;
  return begin(Math.min(...ends));
}

// ---- resting, running, paused

function rest(...said) {
  turn("resting");
  way("along");
  const { first, last } = range();
  from = Math.min(last, Math.max(first, from));
  chart.range({ first, last, from });
  const warmUp = localStorage.getItem("warmed-up") === today() ? "" : WARM_UP;
  into(work, said.length ? said : el("p", { class: "quiet" }, `${warmUp}A bar to count in, then the chart goes by. Mark what you fumble as it happens, or afterwards. Tap a bar to begin there. ${SOUND}`));
  into(ledge, button("Start", start, { class: "work" }));
}

function way(name) {
  for (const each of byId("ways").children) each.setAttribute("aria-pressed", String(each.dataset.way === name));
}

function start() {
  if (tooSoon()) return;
  const { first, last } = range();
  sitting ??= newSitting();
  if (state !== "paused") {
    const calls = { over: finish, paused: pause, marked: showMark, at: (number) => chart.show(number) };
    const played = { tempo: sitting.tempo, feel: how.elements.feel.value, first, last, from, loop: how.elements.loop.checked };
    run = new PlayRun({ bars, chart: part.chart, how: played, marks, turns: 0, calls });
  }
  localStorage.setItem("warmed-up", today());
  const at = state === "paused" ? run.bar : from;
  turn("running");
  into(work, run.element);
  into(ledge, button("End", finish, { "data-key": "escape" }), button("Pause", () => pause(), { "data-key": " " }),
    button("Fumbled", () => run.fumble(), { class: "work fumble", id: "fumble", "data-key": "f", disabled: true }));
  byId("title").focus({ preventScroll: true });
  say("A bar to count in.");
  run.start(at);
}

/** Shows whether the chord that sounds is marked; keeps what is marked over a reload. */
function showMark() {
  const key = byId("fumble");
  if (key) {
    key.disabled = !run.canMark;
    key.setAttribute("aria-pressed", String(run.marked));
  }
  remember();
}

function remember() {
  sessionStorage.setItem(draft, JSON.stringify({ marks: marks.plain, sitting: { ...sitting, seconds: sitting.seconds + (run?.seconds ?? 0) }, box: part.box }));
}

function pause(why = "") {
  if (state !== "running") return;
  run.halt(why);
  turn("paused");
  into(work, run.element);
  const fumbled = button("Fumbled", () => run.fumble(), { class: "key fumble", id: "fumble", "data-key": "f" });
  into(ledge, button("End", finish, { "data-key": "escape" }), fumbled, button("Go on", start, { class: "work", "data-key": " " }));
  showMark();
  byId("title").focus({ preventScroll: true });
  say(why || "Paused.");
}

// ---- what came of it

function finish() {
  endedAt = performance.now();
  run?.halt();
  if (sitting) sitting.seconds += run?.seconds ?? 0;
  run = null;
  if (!marks.moves.length) {
    forget();
    return rest();
  }
  turn("closing");
  const closing = new PlayClose({ bars, moves: part.moves, marks, changed: remember, done, nothing });
  into(work, el("h2", { tabindex: -1, id: "closing-title" }, "How did it go?"), closing.element);
  into(ledge, closing.ledge);
  scrollTo(0, 0);
  byId("closing-title").focus({ preventScroll: true });
  remember();
  return undefined;
}

/** Keeps the answers on the device and sends them: what was fumbled, and the rest if it came in time. */
function done(withRest) {
  if (tooSoon()) return;
  const answers = marks.answers(part.moves, withRest).map((each) => ({ id: reviewId(), seconds: null, ...each }));
  const fumbled = answers.filter((each) => !each.right).length;
  const kept = [fumbled && `${count(fumbled, "chord")} fumbled`, answers.length - fumbled && `${count(answers.length - fumbled, "chord")} in time`].filter(Boolean);
  sent = sitting.session;
  const { session } = sitting;
  send("along", sitting, answers);
  forget();
  resting(`Kept: ${kept.join(", ")}. The drill brings back what was fumbled.`, session);
}

function nothing() {
  if (tooSoon()) return;
  forget();
  resting("Nothing was kept.");
}

/** At rest again, with a word on what was, and the way to its cards once the service has them. */
function resting(sentence, session = null) {
  atRestSaying(el("p", { role: "status" }, sentence), session && el("p", { id: "way-to-cards", "data-session": session }));
}

function atRestSaying(...said) {
  rest(...said);
  work.scrollIntoView({ block: "center" });
  ledge.querySelector(".work").focus({ preventScroll: true });
}

/** A sitting came through. */
async function heard(session, reply) {
  if (session !== sent || reply.items.some((item) => item.status === "refused")) return;
  const line = document.querySelector(`#way-to-cards[data-session="${session}"]`);
  if (line) into(line, el("a", { class: "key small", href: `/session/${session}/closing` }, "Card by card"));
  const { today: drilled } = await ask("GET", "player").catch(() => ({ today: { minutes: 0 } }));
  byId("rest").hidden = state !== "resting" || drilled.minutes < BREAK_MINUTES;
}

/** Whether a tap belongs to the one that ended the run or closed it, and not to what stands there since. */
const tooSoon = () => performance.now() - endedAt < DOUBLE_TAP;

function forget() {
  endedAt = performance.now();
  sessionStorage.removeItem(draft);
  marks = new Marks();
  sitting = null;
  run = null;
}

function send(name, { session, started_at, seconds, tempo: played }, answers) {
  const now = Date.now();
  const body = { session, way: name, tempo: played, jam, seconds, started_at, ended_at: now, answers };
  keep({ id: reviewId(), session, post: `play/${tune}`, card: part.title, answered_at: now, body });
}

/** What a reload cut off is asked for at its end; true if there was something. */
function takeUp() {
  let kept = null;
  try {
    kept = JSON.parse(sessionStorage.getItem(draft));
  } catch {
    // What cannot be read was not kept.
  }
  if (!kept?.sitting?.session || kept.box !== part.box) return false;
  marks = new Marks(kept.marks);
  ({ sitting } = kept);
  if (marks.moves.length && marks.moves.every((move) => move < part.moves.length)) finish();
  else forget();
  return state === "closing";
}

// ---- lost

function loseIt() {
  const mine = newSitting();
  turn("lost");
  way("lost");
  localStorage.setItem("warmed-up", today());
  const seed = crypto.getRandomValues(new Uint32Array(1))[0];
  const shown = new Sitting(0, () => {});
  const answered = (answer) => send("lost", { ...mine, seconds: shown.seconds }, [{ id: reviewId(), ...answer }]);
  const stopped = (sentences, any) => {
    lost = null;
    sent = any ? mine.session : null;
    atRestSaying(...sentences.map((sentence) => el("p", { role: "status" }, sentence)), any && el("p", {}, el("a", { class: "key small", href: `/session/${mine.session}/closing` }, "Card by card")));
  };
  lost = new Lost({ bars, part, tempo: mine.tempo, seed, calls: { answered, stopped }, ledge, clock: byId("clock") });
  into(work, lost.element);
  lost.begin();
}

// ---- hands

function showClick() {
  byId("click").textContent = `Click ${soundOn() ? "on" : "off"}`;
}

function turnClick() {
  keepSound(!soundOn());
  run?.sound(soundOn());
  showClick();
  say(`Click ${soundOn() ? "on" : "off"}.`);
}

function tapTempo() {
  taps = [...taps, performance.now()].slice(-8);
  const found = tapped(taps);
  if (found) how.elements.tempo.value = found;
}

const step = (by) => (how.elements.tempo.value = Math.min(240, Math.max(30, tempo() + by)));

/** What a key means here; true if it meant something. */
function meaning(key) {
  const named = ledge.querySelector(`[data-key="${CSS.escape(key)}"]:enabled`);
  if (named) named.click();
  else if (lost?.key(key)) return true;
  else if (key === " " && state === "resting") start();
  else if (key === "c") turnClick();
  else if (state === "resting") return atRest(key);
  else return false;
  return true;
}

function atRest(key) {
  const does = { t: tapTempo, arrowright: () => begin(from + 1), arrowleft: () => begin(from - 1), arrowup: () => step(1), arrowdown: () => step(-1) };
  if (!does[key]) return false;
  does[key]();
  return true;
}

function pressed(event) {
  if (event.altKey || event.ctrlKey || event.metaKey || event.repeat || !part) return;
  if (event.target.matches("input, select, summary")) return;
  if (event.key === " " && event.target.matches("button, a")) return; // It presses what has the focus.
  if (event.key.length === 1 && event.key !== " " && !singleKeys.checked) return;
  if (meaning(event.key.toLowerCase())) event.preventDefault();
}

how.addEventListener("submit", (event) => event.preventDefault());
how.addEventListener("change", ({ target }) => {
  if (target.name === "tempo") target.value = tempo();
  if (target.name === "box") return turnBox(target.value);
  if (!["part", "first", "last"].includes(target.name)) return undefined;
  half = false;
  byId("range").hidden = how.elements.part.value !== BARS;
  if (target.name === "part" && target.value !== "") how.elements.loop.checked = true;
  const { first, last } = range();
  if (target.name !== "part") [how.elements.first.value, how.elements.last.value] = [first + 1, last + 1];
  return begin(first);
});
steppers(how);
byId("tap").addEventListener("click", tapTempo);
byId("click").addEventListener("click", turnClick);
byId("ways").addEventListener("click", ({ target }) => {
  const wanted = target.closest("[data-way]")?.dataset.way;
  if (wanted === "lost") loseIt();
});
document.addEventListener("keydown", pressed);
document.addEventListener("visibilitychange", () => document.hidden && pause("The page was away, so it was paused."));
singleKeys.checked = localStorage.getItem("single-keys") !== "off";
singleKeys.addEventListener("change", () => localStorage.setItem("single-keys", singleKeys.checked ? "on" : "off"));
startSending(heard);
fetchPart(address.get("box"), opened);
