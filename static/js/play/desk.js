// Playing along with a tune, and "Lost": at rest, running, paused, and what came of it.

import { all, byId, DOUBLE_TAP, el, into, listed, say, suggestBreak, within } from "../lib/dom.js";
import { soundOn } from "../device/metronome.js";
import { ask, reviewId } from "../device/service.js";
import { keepWarmedUp, warmedUp } from "../device/stored.js";
import { Sitting } from "../device/timing.js";
import { PlayChart } from "./chart.js";
import { PlayClose } from "./close.js";
import { Lost } from "./lost.js";
import { PlayRun } from "./run.js";
import { begin, Played, sendSitting } from "./sitting.js";
import { barsOf } from "./timeline.js";
import { _, ngettext } from "../lib/words.js";

/** @import { Choices } from "./choices.js" */

const SOUND = _("Begin with the sound low, and turn it up only until you hear the click over the guitar.");
const WARM_UP = _("Warm up first: play something slow and easy for a minute.");
const HOW = _("A bar to count in, then the chart goes by. Mark what you fumble as it happens, or afterwards. Tap a bar to begin there.");

/** @type {(label: string, onclick: () => unknown, attributes?: Record<string, unknown>) => HTMLButtonElement} */
const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);

/** The way to the cards of a sitting. @type {(session: string) => HTMLElement} */
const cardByCard = (session) => el("a", { class: "key small", href: `/session/${session}/closing` }, _("Card by card"));

export class Desk {
  #place = byId("play");
  #work = byId("work");
  #ledge = byId("ledge");
  #part;
  #choices;
  #bars;
  #chart;
  #jam;
  #played;
  #from = 0;
  #endedAt = -Infinity; // when a run was ended or closed
  /** @type {PlayRun | null} */ #run = null;
  /** @type {Lost | null} */ #lost = null;
  /** The sitting that was kept last, until the service has it. @type {string | null} */ #sent = null;
  /** @type {"resting" | "running" | "paused" | "closing" | "lost"} */ state = "resting";

  /**
   * @param {Api.PlayPart} part
   * @param {Choices} choices
   * @param {string | null} jam
   */
  constructor(part, choices, jam) {
    this.#part = part;
    this.#choices = choices;
    this.#jam = jam;
    this.#bars = barsOf(part.chart);
    this.#played = new Played(part.tune);
    this.#chart = new PlayChart(this.#bars, part.chart, (number) => this.begin(choices.tapBar(number)));
    choices.fill(part, this.#bars);
    into(byId("chart"), this.#chart.element);
    within(byId("ways"), "[data-way=lost]", HTMLButtonElement).disabled = !Lost.possible(this.#bars);
  }

  /** Shows what a reload cut off, or that nothing runs. */
  open() {
    if (this.#played.takeUp(this.#part)) this.finish();
    else this.rest();
  }

  /** Another box: the same tune with other cards; what was chosen beside it stays. @type {(part: Api.PlayPart) => void} */
  turnTo(part) {
    this.#part = part;
  }

  get box() {
    return this.#part.box;
  }

  /** @type {(state: Desk["state"]) => void} */
  #turn(state) {
    this.state = state;
    this.#place.dataset.state = state;
    byId("ways").hidden = state !== "resting";
    this.#choices.shown = state === "resting";
    this.#chart.open = state === "resting";
    byId("rest").hidden = true;
  }

  /** Begins at another bar. @type {(number: number) => void} */
  begin(number) {
    const { first, last } = this.#choices.range;
    this.#from = Math.min(last, Math.max(first, number));
    this.#chart.range({ first, last, from: this.#from });
    say(_("Bars {first} to {last}, begins at {from}.", { first: first + 1, last: last + 1, from: this.#from + 1 }));
  }

  /** Begins so many bars later. @type {(by: number) => void} */
  step(by) {
    this.begin(this.#from + by);
  }

  // ---- resting, running, paused

  /** @type {(...said: Dom.Child[]) => void} */
  rest(...said) {
    this.#turn("resting");
    this.#way("along");
    const { first, last } = this.#choices.range;
    this.#from = Math.min(last, Math.max(first, this.#from));
    this.#chart.range({ first, last, from: this.#from });
    const sentences = [!warmedUp(this.#part.settings.day_start) && WARM_UP, HOW, SOUND];
    into(this.#work, said.length ? said : el("p", { class: "quiet" }, listed(" ", ...sentences)));
    into(this.#ledge, button(_("Start"), () => this.start(), { class: "work" }));
  }

  /** @type {(name: string) => void} */
  #way(name) {
    for (const way of all(byId("ways"), "[data-way]")) way.setAttribute("aria-pressed", String(way.dataset.way === name));
  }

  start() {
    if (this.#tooSoon) return;
    const { first, last } = this.#choices.range;
    this.#played.begun ??= begin(this.#choices.tempo);
    const paused = this.state === "paused" ? this.#run : null;
    const run = paused ?? new PlayRun({
      bars: this.#bars, chart: this.#part.chart, marks: this.#played.marks, turns: 0,
      how: { tempo: this.#played.begun.tempo, feel: this.#choices.feel, first, last, from: this.#from, loop: this.#choices.loop },
      calls: {
        over: () => this.finish(),
        paused: (why) => this.pause(why),
        marked: () => this.#showMark(),
        at: (number) => this.#chart.show(number),
      },
    });
    this.#run = run;
    keepWarmedUp(this.#part.settings.day_start);
    this.#turn("running");
    into(this.#work, run.element);
    into(this.#ledge, button(_("End"), () => this.finish(), { "data-key": "escape" }), button(_("Pause"), () => this.pause(), { "data-key": " " }),
      button(_("Fumbled"), () => run.fumble(), { class: "work fumble", id: "fumble", "data-key": "f", disabled: true }));
    byId("title").focus({ preventScroll: true });
    say(_("A bar to count in."));
    run.start(paused ? paused.bar : this.#from);
  }

  /** Shows whether the chord that sounds is marked; keeps what is marked over a reload. */
  #showMark() {
    const key = document.getElementById("fumble");
    if (key instanceof HTMLButtonElement && this.#run) {
      key.disabled = !this.#run.canMark;
      key.setAttribute("aria-pressed", String(this.#run.marked));
    }
    this.#remember();
  }

  #remember() {
    this.#played.remember(this.#run?.seconds ?? 0, this.#part.box);
  }

  /** @type {(why?: string) => void} */
  pause(why = "") {
    const run = this.#run;
    if (this.state !== "running" || !run) return;
    run.halt(why);
    this.#turn("paused");
    into(this.#work, run.element);
    const fumbled = button(_("Fumbled"), () => run.fumble(), { class: "key fumble", id: "fumble", "data-key": "f" });
    into(this.#ledge, button(_("End"), () => this.finish(), { "data-key": "escape" }), fumbled, button(_("Go on"), () => this.start(), { class: "work", "data-key": " " }));
    this.#showMark();
    byId("title").focus({ preventScroll: true });
    say(why || _("Paused."));
  }

  /** Turns the click of a run on or off. */
  sound() {
    this.#run?.sound(soundOn());
  }

  // ---- what came of it

  finish() {
    this.#endedAt = performance.now();
    this.#run?.halt();
    if (this.#played.begun) this.#played.begun.seconds += this.#run?.seconds ?? 0;
    this.#run = null;
    if (!this.#played.marks.moves.length) {
      this.#forget();
      this.rest();
      return;
    }
    this.#turn("closing");
    const closing = new PlayClose({
      bars: this.#bars, moves: this.#part.moves, marks: this.#played.marks,
      changed: () => this.#remember(), done: (rest) => this.#done(rest), nothing: () => this.#nothing(),
    });
    into(this.#work, el("h2", { tabindex: -1, id: "closing-title" }, _("How did it go?")), closing.element);
    into(this.#ledge, closing.ledge);
    scrollTo(0, 0);
    byId("closing-title").focus({ preventScroll: true });
    this.#remember();
  }

  /** Keeps the answers on the device and sends them: what was fumbled, and the rest if it came in time. @type {(withRest: boolean) => void} */
  #done(withRest) {
    const { begun, marks } = this.#played;
    if (this.#tooSoon || !begun) return;
    const answers = marks.answers(this.#part.moves, withRest).map((answer) => ({ id: reviewId(), seconds: null, ...answer }));
    const fumbled = answers.filter((answer) => !answer.right).length;
    const inTime = answers.length - fumbled;
    const kept = listed(", ", fumbled && ngettext("{count} chord fumbled", "{count} chords fumbled", fumbled), inTime && ngettext("{count} chord in time", "{count} chords in time", inTime));
    this.#sent = begun.session;
    sendSitting(this.#tune, "along", begun, answers);
    this.#forget();
    this.#restSaying(
      el("p", { role: "status" }, _("Kept: {chords}. The drill brings back what was fumbled.", { chords: kept })),
      el("p", { id: "way-to-cards", "data-session": begun.session }),
    );
  }

  get #tune() {
    return { id: this.#part.tune, title: this.#part.title, jam: this.#jam };
  }

  #nothing() {
    if (this.#tooSoon) return;
    this.#forget();
    this.#restSaying(el("p", { role: "status" }, _("Nothing was kept.")));
  }

  /** At rest again, with a word on what was. @type {(...said: Dom.Child[]) => void} */
  #restSaying(...said) {
    this.rest(...said);
    this.#work.scrollIntoView({ block: "center" });
    within(this.#ledge, ".work").focus({ preventScroll: true });
  }

  /** Whether a tap belongs to the one that ended the run or closed it, and not to what stands there since. */
  get #tooSoon() {
    return performance.now() - this.#endedAt < DOUBLE_TAP;
  }

  #forget() {
    this.#endedAt = performance.now();
    this.#played.forget();
    this.#run = null;
  }

  /** A sitting came through: the way to its cards, and a break where it is time for one. @type {(session: string, reply: Api.Batch) => Promise<void>} */
  async hear(session, reply) {
    if (session !== this.#sent || reply.items.some((item) => item.status === "refused")) return;
    const line = document.querySelector(`#way-to-cards[data-session="${session}"]`);
    if (line) into(line, cardByCard(session));
    /** @type {Pick<Api.Player, "today">} */
    const { today } = await ask("GET", "player").catch(() => ({ today: { minutes: 0, seen: 0 } }));
    if (this.state === "resting") suggestBreak(today.minutes);
  }

  // ---- lost

  lose() {
    const begun = begin(this.#choices.tempo);
    this.#turn("lost");
    this.#way("lost");
    keepWarmedUp(this.#part.settings.day_start);
    const shown = new Sitting(0, () => {});
    this.#lost = new Lost({
      bars: this.#bars, part: this.#part, tempo: begun.tempo, seed: crypto.getRandomValues(new Uint32Array(1))[0],
      ledge: this.#ledge, clock: byId("clock"),
      calls: {
        answered: (answer) => sendSitting(this.#tune, "lost", { ...begun, seconds: shown.seconds }, [{ id: reviewId(), ...answer }]),
        stopped: (sentences, kept) => {
          this.#lost = null;
          this.#sent = kept ? begun.session : null;
          this.#restSaying(...sentences.map((sentence) => el("p", { role: "status" }, sentence)), kept && el("p", {}, cardByCard(begun.session)));
        },
      },
    });
    into(this.#work, this.#lost.element);
    this.#lost.begin();
  }

  /** What a key means on the ledge or in Lost; true if it meant something. @type {(key: string) => boolean} */
  key(key) {
    const [named] = all(this.#ledge, `[data-key="${CSS.escape(key)}"]:enabled`);
    if (named) named.click();
    else if (this.#lost?.key(key)) return true;
    else if (key === " " && this.state === "resting") this.start();
    else return false;
    return true;
  }
}
