// Playing along with a tune, and "Lost": what is played and how, the run, what came of it.

import { chartWords } from "./chartview.js";
import { byId, count, el, into, say, steppers, trouble } from "./dom.js";
import { Lost } from "./lost.js";
import { keepSound, soundOn } from "./metronome.js";
import { PlayChart } from "./playchart.js";
import { PlayClose } from "./playclose.js";
import { PlayRun } from "./playrun.js";
import { barsOf, Marks, sectionsOf, tapped } from "./playtune.js";
import { keep, startSending } from "./sending.js";
import { ask, Refused, reviewId } from "./service.js";

const BARS = "bars"; // the part that is a range of bars
const place = byId("play");
const how = byId("how");
const work = byId("work");
const ledge = byId("ledge");
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
let sitting = null; // { session, started_at, seconds } of what is played, until it is kept
let from = 0;
let state = "resting"; // resting, running, paused, closing, lost
let taps = [];

const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);
const newSitting = () => ({ session: reviewId(), started_at: Date.now(), seconds: 0 });

// ---- what is played

async function open(box = null) {
  const query = new URLSearchParams(address);
  if (box) query.set("box", box);
  try {
    part = await ask("GET", `play/${tune}?${query}`);
  } catch (error) {
    place.removeAttribute("aria-busy");
    return trouble(byId("trouble"), error.message, error instanceof Refused ? null : () => open(box));
  }
  byId("trouble").replaceChildren();
  place.removeAttribute("aria-busy");
  bars = barsOf(part.chart);
  put();
  if (!takeUp()) rest();
  return undefined;
}

function put() {
  byId("title").textContent = part.title;
  document.title = `${part.title} · Anchor Drill`;
  into(byId("about"), chartWords(part.chart), part.jam && el("span", {}, " · ", el("a", { href: `/jams/${part.jam.id}` }, part.jam.name)));
  const sections = sectionsOf(bars);
  into(how.elements.part,
    el("option", { value: "" }, "the whole tune"),
    sections.length > 1 && sections.map((section, number) => el("option", { value: number }, section.name)),
    el("option", { value: BARS }, "some bars"));
  if (!how.dataset.filled) how.elements.tempo.value = part.tempo;
  how.dataset.filled = "yes";
  how.elements.box.value = part.box;
  how.elements.first.max = how.elements.last.max = bars.length;
  how.elements.first.value = 1;
  how.elements.last.value = bars.length;
  chart = new PlayChart(bars, part.chart, (number) => begin(number));
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
  say(`Begins at bar ${from + 1}.`);
}

// ---- resting, running, paused

function rest() {
  state = "resting";
  place.dataset.state = state;
  byId("ways").hidden = how.hidden = false;
  way("along");
  const { first, last } = range();
  from = Math.min(last, Math.max(first, from));
  chart.open = true;
  chart.range({ first, last, from });
  into(work, el("p", { class: "quiet" }, "A bar to count in, then the chart goes by. Mark what you fumble as it happens, or afterwards. Tap a bar to begin there."));
  into(ledge, button("Start", start, { class: "work" }));
}

function way(name) {
  for (const each of byId("ways").children) each.setAttribute("aria-pressed", String(each.dataset.way === name));
}

function start() {
  const { first, last } = range();
  sitting ??= newSitting();
  if (!run || state !== "paused") {
    const calls = { over: finish, paused: pause, marked: showMark, at: (number) => chart.show(number) };
    const played = { tempo: tempo(), feel: part.chart.feel, first, last, from, loop: how.elements.loop.checked };
    run = new PlayRun({ bars, chart: part.chart, how: played, marks, turns: run?.turns ?? 0, calls });
  }
  sitting.tempo = tempo();
  const at = state === "paused" ? run.bar : from;
  state = "running";
  place.dataset.state = state;
  byId("ways").hidden = how.hidden = true;
  chart.open = false;
  into(work, run.element);
  into(ledge, button("Pause", () => pause(), { "data-key": "escape" }), button("Fumbled", fumble, { class: "work fumble", id: "fumble", disabled: true }));
  byId("fumble").focus({ preventScroll: true });
  run.start(at);
}

function fumble() {
  run.fumble();
  showMark();
}

/** Shows whether the chord that sounds is marked; keeps what is marked over a reload. */
function showMark() {
  const key = byId("fumble");
  if (!key) return;
  key.disabled = !run.canMark;
  key.setAttribute("aria-pressed", String(run.marked));
  key.textContent = run.marked ? "Fumbled ✓" : "Fumbled";
  remember();
}

function remember() {
  sessionStorage.setItem(draft, JSON.stringify({ marks: marks.plain, sitting: { ...sitting, seconds: sitting.seconds + (run?.seconds ?? 0) }, box: part.box }));
}

function pause(why = "") {
  if (state !== "running") return;
  run.halt(why);
  state = "paused";
  place.dataset.state = state;
  chart.open = true;
  into(work, run.element);
  into(ledge, button("End", finish, { "data-key": "escape" }), button("Go on", start, { class: "work" }));
  ledge.lastChild.focus({ preventScroll: true });
  say(why || "Paused.");
}

// ---- what came of it

function finish() {
  run?.halt();
  sitting.seconds += run?.seconds ?? 0;
  run = null;
  if (!marks.moves.length) {
    forget();
    return rest();
  }
  state = "closing";
  place.dataset.state = state;
  byId("ways").hidden = how.hidden = true;
  chart.open = false;
  const closing = new PlayClose({ bars, moves: part.moves, marks, changed: remember, done, nothing });
  into(work, el("h2", { tabindex: -1, id: "closing-title" }, "How did it go?"), closing.element);
  into(ledge, closing.ledge);
  byId("closing-title").focus({ preventScroll: true });
  remember();
  return undefined;
}

/** Keeps the answers on the device and sends them: what was fumbled, and the rest if it came in time. */
function done(rest_) {
  const answers = marks.answers(part.moves, rest_).map((each) => ({ id: reviewId(), seconds: null, ...each }));
  send("along", sitting, answers);
  const fumbled = answers.filter((each) => !each.right).length;
  const kept = [fumbled && `${count(fumbled, "chord")} fumbled`, answers.length - fumbled && `${count(answers.length - fumbled, "chord")} in time`].filter(Boolean);
  forget();
  rest();
  into(work, el("p", { role: "status" }, `Kept: ${kept.join(", ")}. The drill knows now what to bring back.`));
}

function nothing() {
  forget();
  rest();
  into(work, el("p", { role: "status" }, "Nothing was kept."));
}

function forget() {
  sessionStorage.removeItem(draft);
  marks = new Marks();
  sitting = null;
  run = null;
}

function send(name, { session, started_at, seconds, tempo: played }, answers) {
  const now = Date.now();
  const body = { session, way: name, tempo: played ?? tempo(), jam, seconds: Math.min(seconds, (now - started_at) / 1000), started_at, ended_at: now, answers };
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
  if (!kept?.sitting || kept.box !== part.box) return false;
  marks = new Marks(kept.marks);
  ({ sitting } = kept);
  if (marks.moves.length && marks.moves.every((move) => move < part.moves.length)) finish();
  else forget();
  return state === "closing";
}

// ---- lost

function loseIt() {
  state = "lost";
  place.dataset.state = state;
  way("lost");
  how.hidden = true;
  chart.open = false;
  byId("chart").hidden = true;
  const mine = { ...newSitting(), tempo: tempo() };
  const seed = crypto.getRandomValues(new Uint32Array(1))[0];
  const answered = (answer) => send("lost", { ...mine, seconds: (Date.now() - mine.started_at) / 1000 }, [{ id: reviewId(), ...answer }]);
  const stopped = (sentences) => {
    lost = null;
    byId("chart").hidden = false;
    rest();
    into(work, sentences.map((sentence) => el("p", { role: "status" }, sentence)));
  };
  lost = new Lost({ bars, part, tempo: tempo(), seed, calls: { answered, stopped }, ledge, clock: byId("clock") });
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

function pressed(event) {
  if (event.altKey || event.ctrlKey || event.metaKey || event.target.matches("input, select, textarea")) return;
  const key = event.key.toLowerCase();
  const named = ledge.querySelector(`[data-key="${CSS.escape(key)}"]`);
  if (named) named.click();
  else if (lost) {
    if (!lost.key(event.key)) return;
  } else if (key === " " && state === "running") pause();
  else if (key === " " && !event.target.matches("button, a, summary")) ledge.querySelector(".work")?.click();
  else if (key === "f" && state === "running") fumble();
  else if (key === "c") turnClick();
  else if (key === "t" && state === "resting") tapTempo();
  else if ((key === "arrowright" || key === "arrowleft") && state === "resting") begin(from + (key === "arrowright" ? 1 : -1));
  else return;
  event.preventDefault();
}

how.addEventListener("submit", (event) => event.preventDefault());
how.addEventListener("change", ({ target }) => {
  if (target.name === "tempo") target.value = tempo();
  if (target.name === "box") return open(target.value);
  byId("range").hidden = how.elements.part.value !== BARS;
  if (["part", "first", "last"].includes(target.name)) begin(range().first);
  return undefined;
});
steppers(how);
byId("tap").addEventListener("click", tapTempo);
byId("click").addEventListener("click", turnClick);
byId("ways").addEventListener("click", ({ target }) => {
  const wanted = target.closest("[data-way]")?.dataset.way;
  if (wanted === "lost" && !lost) loseIt();
  else if (wanted === "along" && lost) lost.stop();
});
document.addEventListener("keydown", pressed);
document.addEventListener("visibilitychange", () => document.hidden && pause("The page was away, so it was paused."));
startSending();
open(address.get("box"));
