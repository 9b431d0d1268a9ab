// How a session went: what was missed, late and clean, each with its drawing, and what comes next.

import { ASKS } from "../lib/asks.js";
import { byId, drawing, el, listed, outcomeMark, suggestBreak, trouble, where } from "../lib/dom.js";
import { dropSession, session as keptSession } from "../device/kept.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf } from "../device/service.js";
import { _, ngettext, nodesIn } from "../lib/words.js";

/** @type {("missed" | "late" | "clean")[]} */
const OUTCOMES = ["missed", "late", "clean"];
/** @type {Record<string, string>} */
const MEANS = { clean: _("right and in time"), late: _("right, but not in time") };
const id = location.pathname.split("/")[2];

async function show() {
  try {
    /** @type {Api.Closing} */
    const closing = await ask("GET", `sessions/${encodeURIComponent(id)}/closing`);
    byId("trouble").replaceChildren();
    put(closing);
    forget();
    /** @type {Api.Player} */
    const { today } = await ask("GET", "player");
    suggestBreak(today.minutes);
  } catch (error) {
    if (!byId("closing").querySelector("h2")) byId("closing").replaceChildren();
    trouble(byId("trouble"), messageOf(error), show);
  }
  byId("closing").removeAttribute("aria-busy");
}

/** The session is over; this device need not keep it. */
async function forget() {
  const kept = await keptSession().catch(() => undefined);
  if (kept && String(kept.id) === id) await dropSession();
}

/** @type {(closing: Api.Closing) => void} */
function put(closing) {
  const answered = OUTCOMES.reduce((sum, outcome) => sum + closing[outcome].length, 0);
  const answers = ngettext("{count} answer", "{count} answers", answered);
  const time = ngettext("{count} minute", "{count} minutes", Math.max(1, Math.round(closing.seconds / 60)));
  byId("closing").replaceChildren(
    el("p", { class: "quiet" }, answered ? _("{answers} in {time}.", { answers, time }) : _("No card was answered, so there is nothing to show.")),
    el("section", { class: "next", "aria-labelledby": "next-title" },
      el("h2", { id: "next-title" }, _("What comes next")),
      [closing.next].flat().map((sentence) => el("p", {}, sentence)),
      el("p", {}, el("a", { class: "work", href: "/" }, _("To the start")))),
    ...OUTCOMES.filter((outcome) => closing[outcome].length).map((outcome) => group(outcome, closing[outcome])),
  );
}

/** @type {(outcome: "missed" | "late" | "clean", cards: Api.ClosingCard[]) => HTMLElement} */
function group(outcome, cards) {
  return el("section", { "aria-labelledby": `${outcome}-title` },
    el("h2", { id: `${outcome}-title` }, outcomeMark(outcome), el("span", { class: "count" }, listed(", ", String(cards.length), MEANS[outcome]))),
    el("ul", { class: "cards" }, cards.map(one)));
}

/** @type {(card: Api.ClosingCard) => HTMLElement} */
function one(card) {
  return el("li", { class: "card" },
    drawing(card.drawing, "drawing small"),
    el("div", {},
      el("h3", {}, nodesIn(_("{number} in {place}"), { number: el("span", { class: "number" }, card.number), place: card.number === _("box {box}", { box: card.box }) ? card.key : where(card.key, card.box) })),
      el("p", {}, card.sentence),
      el("p", { class: "quiet" }, ASKS[card.ask].done)));
}

startSending((session) => void (String(session) === id && show()));
show();
