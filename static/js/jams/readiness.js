// How ready the night is: what would be clean if nothing more is drilled and if the planned minutes are,
// tune by tune, what is shakiest, and the session that helps.

import { drawing, el, into, say, trouble, within } from "../lib/dom.js";
import { holdHere } from "../device/kept.js";
import { ask, messageOf, Refused, tabId } from "../device/service.js";
import { _, ngettext, nodesIn } from "../lib/words.js";

const PATIENCE = 60; // seconds; the days until the jam are played ahead

/**
 * A share of 100 as a bar, with the stretch where it may lie; the words beside it say the same.
 * @type {(share: Api.Share) => HTMLElement}
 */
function bar({ percent, low, high }) {
  return drawing(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true" focusable="false">
    <rect class="whole" width="100" height="8"/><rect class="share" width="${percent}" height="8"/>
    <path class="lies" d="M${low} 4H${high}M${low} 1v6M${high} 1v6"/></svg>`, "share-bar");
}

/** @type {(words: string[]) => HTMLElement[]} */
const sentences = (words) => words.map((sentence) => el("p", {}, sentence));

/** @type {(changes: Api.Shaky[]) => Dom.Child} */
const shaky = (changes) => changes.length > 0 && el("ol", { class: "shaky" },
  changes.map((one) => el("li", {}, one.words, el("span", { class: "quiet" }, " ", _("{percent} of 100", { percent: one.percent })))));

/**
 * A share in words with its bar, and who says what it is of.
 * @type {(share: Api.Share | null, words: string, label?: string | null) => Dom.Child}
 */
const told = (share, words, label = null) => share && el("div", { class: "told" },
  el("p", {}, label && el("span", { class: "quiet" }, label, " "), words), bar(share));

/**
 * A tune, and the place for what practice brings it.
 * @type {(one: Api.ReadyTune) => { later: HTMLElement, item: HTMLElement }}
 */
function tune(one) {
  const later = el("div");
  const { key, tempo } = one;
  const facts = one.share
    ? ngettext("in {key}, {tempo} bpm, {count} change", "in {key}, {tempo} bpm, {count} changes", one.share.changes, { key, tempo })
    : _("in {key}, {tempo} bpm", { key, tempo });
  return { later, item: el("li", {},
    el("h3", {}, one.title, el("span", { class: "quiet" }, " ", facts)),
    one.share ? [told(one.share, one.share.words, _("If you drill no more:")), later, shaky(one.shakiest)] : el("p", {}, _("None of its chords has room on your guitar."))) };
}

/**
 * Starts a session for a jam and goes to it; what is in the way is said at `place`. `wanted` is what the
 * session is: `{ jam }`, or with `kind: "last look"`.
 * @type {(wanted: { jam: string, kind?: string }, button: HTMLButtonElement, place: HTMLElement) => Promise<void>}
 */
export async function startFor(wanted, button, place) {
  button.disabled = true;
  try {
    await holdHere(await ask("POST", "sessions", { tab: tabId(), ...wanted }));
    location.assign("/session");
  } catch (error) {
    button.disabled = false;
    if (!(error instanceof Refused && error.body.running)) return trouble(place, messageOf(error));
    into(place, el("div", { class: "notice", role: "alert" },
      el("p", {}, nodesIn(_("A session is running already: {link} first."), { link: el("a", { href: "/" }, _("go on with it or end it")) }))));
  }
  return undefined;
}

/** @type {WeakMap<Element, object>} */
const latest = new WeakMap(); // of each section the telling that was begun last

/**
 * Fills a section of the jam's page, or fills it anew; its heading has the id that the section is labelled by.
 * @type {(section: HTMLElement, jamId: string) => Promise<void>}
 */
export async function showReadiness(section, jamId) {
  const path = `jams/${encodeURIComponent(jamId)}/readiness`;
  const mine = {};
  const stale = () => latest.get(section) !== mine;
  latest.set(section, mine);
  section.setAttribute("aria-busy", "true");
  if (!section.childElementCount) {
    into(section, el("h2", { id: section.getAttribute("aria-labelledby") }, _("Readiness")), el("div", { class: "readiness" }, el("p", { class: "quiet" }, _("One moment"))));
  }
  const body = within(section, ".readiness");
  try {
    /** @type {Api.Readiness} */
    const found = await ask("GET", path);
    if (stale()) return;
    const tunes = found.tunes.map(tune);
    put(body, found, tunes, jamId);
    if (found.night && !found.over) await putAhead(body, tunes, path, stale);
  } catch (error) {
    if (stale()) return;
    trouble(body, messageOf(error), () => showReadiness(section, jamId));
  }
  if (!stale()) section.removeAttribute("aria-busy");
}

/** @type {(body: HTMLElement, found: Api.Readiness, tunes: { later: HTMLElement, item: HTMLElement }[], jamId: string) => void} */
function put(body, found, tunes, jamId) {
  if (!found.night || found.over) return into(body, sentences(found.words));
  const [now, ...more] = found.words;
  const failed = el("div");
  /** @type {(name: string, kind: string, wanted: { kind?: string }) => HTMLButtonElement} */
  const button = (name, kind, wanted) =>
    el("button", { type: "button", class: kind, onclick: ({ currentTarget }) => startFor({ jam: jamId, ...wanted }, currentTarget, failed) }, name);
  return into(body, told(found.night, now),
    el("div", { class: "later" }, el("p", { class: "quiet", role: "status" }, _("Working out your practice until then, day by day …"))),
    sentences(more),
    el("div", { class: "row" }, button(_("Drill for it"), "work", {}), button(_("Last look"), "key", { kind: "last look" })),
    failed,
    el("h3", {}, _("Shakiest on the night")), shaky(found.shakiest),
    el("ul", { class: "ready-tunes" }, tunes.map(({ item }) => item)),
    el("p", { class: "quiet" }, _("The figures say how many of 100 changes would be clean; nine times out of ten the truth lies between the two in parentheses. A change is a chord that differs from the one before it, at the tune’s tempo, in the boxes of this jam. If the drill asks for it in two ways, the way that you answered more often counts.")));
}

/**
 * What practice until then brings, put where its place is kept; what was pressed meanwhile stays.
 * @type {(body: HTMLElement, tunes: { later: HTMLElement }[], path: string, stale: () => boolean) => Promise<void>}
 */
async function putAhead(body, tunes, path, stale) {
  const later = within(body, ".later");
  try {
    /** @type {Api.Ahead} */
    const ahead = await ask("GET", `${path}/ahead`, undefined, PATIENCE);
    if (stale()) return;
    const [then, ...more] = ahead.words;
    into(later, ahead.night ? told(ahead.night, then) : sentences(ahead.words.slice(0, 1)), sentences(more));
    tunes.forEach((one, number) => {
      const share = ahead.tunes[number];
      if (share) into(one.later, told(share, share.words, _("If you go on drilling:")));
    });
    if (ahead.words.length) say(ahead.words.join(" "));
  } catch (error) {
    if (!stale()) trouble(later, messageOf(error), () => putAhead(body, tunes, path, stale));
  }
}
