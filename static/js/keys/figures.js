// What is loaded apart on the Keys page: why, over time, and whether the model is honest.

import { byId, drawing, el, into, trouble } from "../lib/dom.js";
import { ask, messageOf } from "../device/service.js";
import { behind } from "../lib/table.js";
import { _, sayNumber, sayAmount } from "../lib/words.js";

const PATIENCE = 30; // seconds

/** @type {(words: string[]) => HTMLElement[]} */
const sentences = (words) => words.map((sentence) => el("p", {}, sentence));
/** @type {(share: number) => string} */
const points = (share) => `${share < 0 ? "−" : "+"}${sayNumber(Math.abs(100 * share), 1)}`;

/**
 * A figure: its title, its words, its drawing, and the table behind it.
 * @type {(one: Api.Figure) => HTMLElement}
 */
function figure(one) {
  return el("figure", {},
    el("figcaption", {}, one.title),
    sentences(one.words),
    one.drawing && drawing(one.drawing, "drawing wide"),
    one.rows.length > 0 && behind(one.title, one.heads, one.rows));
}

/**
 * @template T
 * @param {HTMLElement} place
 * @param {() => Promise<T>} get
 * @param {(found: T) => void} fill
 * @returns {Promise<void>}
 */
async function put(place, get, fill) {
  try {
    fill(await get());
  } catch (error) {
    trouble(place, messageOf(error), () => put(place, get, fill));
  }
  place.removeAttribute("aria-busy");
}

/** @type {() => Promise<Api.Why>} */
const fetchWhy = () => ask("GET", "keys/why", undefined, PATIENCE);

/**
 * How practice went. A long log is gone through once, in parts: how far that is stands in `place` meanwhile.
 * @type {(place: HTMLElement) => Promise<Api.Course>}
 */
async function fetchCourse(place) {
  for (;;) {
    const found = await ask("GET", "keys/course", undefined, PATIENCE);
    if (found.of === undefined) return found;
    const [done, of] = [found.reviews, found.of].map(sayAmount);
    into(place,
      el("p", { class: "quiet" }, _("Reading your answers: {done} of {all}", { done, all: of })),
      el("progress", { max: found.of, value: found.reviews, "aria-label": _("Answers read") }));
  }
}

/**
 * Fills the parts below the map; `drill(focus, button, place)` starts a session weighted to a skill.
 * @type {(drill: (focus: string[], button: HTMLButtonElement, place: HTMLElement) => void) => Promise<void>}
 */
export async function showFigures(drill) {
  await put(byId("why"), fetchWhy, (why) => into(byId("why"),
    sentences(why.words),
    why.repairs.length > 0 && el("div", { class: "row" }, why.repairs.map((one) =>
      el("button", { type: "button", class: "key", onclick: (event) => drill([one.skill], event.currentTarget, byId("why-trouble")) }, _("Drill {skill}", { skill: one.says })))),
    el("div", { id: "why-trouble" }),
    why.drawing && drawing(why.drawing, "drawing wide"),
    why.skills.length > 0 && behind(_("What each skill adds or costs, of 100 answers"), [_("Skill"), _("Kind"), _("Adds"), _("Between"), _("Answers")],
      why.skills.map((one) => [one.says, one.kind, points(one.gain), _("{low} and {high}", { low: points(one.low), high: points(one.high) }), String(one.answers)]))));
  await put(byId("course"), () => fetchCourse(byId("course")), (course) => {
    into(byId("course"),
      sentences(course.words),
      el("div", { class: "abreast" }, course.figures.map(figure)),
      course.keys.length > 0 && el("details", {}, el("summary", {}, _("Key by key")), el("div", { class: "abreast" }, course.keys.map(figure))));
    byId("honest").replaceChildren(figure(course.honest));
  });
}
