// The Keys page: the key map, a cell from near, and a session that is weighted to it.

import { byId, drawing, el, into, listed, outcomeMark, say, trouble } from "../lib/dom.js";
import { showFigures } from "../keys/figures.js";
import { holdHere } from "../device/kept.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf, Refused, tabId } from "../device/service.js";
import { behind, sortable, table } from "../lib/table.js";
import { startImport } from "../keys/yours.js";
import { _, ngettext, sayNumber, nameOf } from "../lib/words.js";

const SHADES = 5;
const view = byId("view", HTMLFormElement);
const map = byId("map");
const close = byId("close");
let latest = 0;
let looked = 0;
/** @type {Api.KeyMap} */
let shown; // the map as the service gave it

/** @type {() => Record<string, string>} */
const chosen = () => Object.fromEntries([...new FormData(view)].flatMap(([name, value]) => (value ? [[name, String(value)]] : [])));
const query = () => {
  const wanted = new URLSearchParams(chosen());
  wanted.delete("as");
  return wanted;
};

/** @type {(share: number) => string} */
const percent = (share) => String(Math.round(100 * share));

/** Takes the view from the address, so that a page can be kept and sent. */
function fromAddress() {
  for (const [name, value] of new URLSearchParams(location.search)) {
    const field = view.elements.namedItem(name);
    if (field instanceof HTMLSelectElement && [...field.options].some((option) => option.value === value)) field.value = value;
  }
}

async function show() {
  const mine = ++latest;
  try {
    /** @type {Api.KeyMap} */
    const found = await ask("GET", `keys?${query()}`);
    if (mine !== latest) return;
    byId("trouble").replaceChildren();
    shown = found;
    put();
  } catch (error) {
    if (mine !== latest) return;
    map.replaceChildren();
    trouble(byId("trouble"), messageOf(error), show);
  }
  map.removeAttribute("aria-busy");
}

function put() {
  const wide = String(query()) === "mode=major";
  const step = wide ? el("a", { class: "key", href: "/" }, _("To the first session")) : el("a", { class: "key", href: "/keys" }, _("Show all of the map"));
  const empty = shown.keys.every((key) => key.cells.every((cell) => cell.state === "new"));
  into(byId("words"), shown.words.map((sentence) => el("p", {}, sentence)), empty && el("div", { class: "row" }, step));
  map.replaceChildren(chosen().as === "table" ? asTable() : asMap());
}

/** @type {(key: Api.KeyRow, cell: Api.Cell) => boolean} */
const isWeak = (key, cell) => shown.weakest.some((weak) => weak.key === key.slug && weak.degree === cell.degree);

/** @type {(key: Api.KeyRow, cell: Api.Cell) => string} */
function inWords(key, cell) {
  const chord = _("{called} of {key}, {chord}", { called: cell.called, key: key.key, chord: cell.chord });
  if (cell.state === "new") return _("{chord}: no answers yet", { chord });
  const facts = listed(", ", _("{percent} of 100", { percent: percent(cell.p ?? 0) }), cell.state === "unsure" && _("not sure"),
    ngettext("{count} answer", "{count} answers", cell.answers), isWeak(key, cell) && _("among the weakest"));
  return _("{chord}: {facts}", { chord, facts });
}

function asMap() {
  const heads = shown.keys[0].cells.map((cell) => el("th", { scope: "col" }, cell.called));
  return el("table", { class: "map" },
    el("caption", { class: "unseen" }, _("Key map: every key in the order of fifths, by degree")),
    el("thead", {}, el("tr", {}, el("td"), heads)),
    el("tbody", {}, shown.keys.map((key) => el("tr", {},
      el("th", { scope: "row" }, key.key),
      key.cells.map((cell) => el("td", {}, button(key, cell)))))));
}

/** @type {(key: Api.KeyRow, cell: Api.Cell) => HTMLButtonElement} */
function button(key, cell) {
  const shade = cell.p === null ? 0 : Math.min(SHADES - 1, Math.floor(cell.p * SHADES));
  const text = cell.p === null ? "–" : percent(cell.p);
  return el("button", {
    type: "button",
    class: `figure ${cell.state} shade-${shade}${isWeak(key, cell) ? " weak" : ""}`,
    "aria-label": inWords(key, cell),
    onclick: (event) => look(key, cell, event.currentTarget),
  }, text, cell.state === "unsure" && el("span", { "aria-hidden": "true" }, "?"));
}

function asTable() {
  const rows = shown.keys.flatMap((key, place) => key.cells.map((cell) => ({ key, cell, place })));
  /** @type {(row: { cell: Api.Cell }) => number} */
  const figure = ({ cell }) => cell.p ?? -1;
  return sortable(_("Key map as a table"), [
    { head: _("Key"), of: ({ key }) => key.key, order: ({ place, cell }) => 10 * place + cell.degree },
    { head: _("Degree"), of: ({ cell }) => cell.called, order: ({ cell, place }) => 100 * cell.degree + place },
    { head: _("Chord"), of: ({ key, cell }) => el("button", { type: "button", class: "key plain", onclick: (event) => look(key, cell, event.currentTarget) }, cell.chord), order: ({ cell }) => cell.chord },
    { head: _("Of 100 clean"), of: ({ cell }) => (cell.p === null ? "–" : percent(cell.p)), order: figure },
    { head: _("Between"), of: ({ cell }) => (cell.p === null ? "–" : _("{low} and {high}", { low: percent(cell.low), high: percent(cell.high) })), order: ({ cell }) => (cell.high ?? 0) - (cell.low ?? 0) },
    { head: _("Sure"), of: ({ cell }) => ({ sure: _("yes"), unsure: _("not yet"), new: _("no answers") })[cell.state], order: ({ cell }) => cell.state },
    { head: _("Answers"), of: ({ cell }) => String(cell.answers), order: ({ cell }) => cell.answers },
  ], rows);
}

// ---- a cell from near --------------------------------------------------------------------------------------

/** @type {(key: Api.KeyRow, cell: Api.Cell, from?: HTMLElement | null) => Promise<void>} */
async function look(key, cell, from = null) {
  const mine = ++looked;
  for (const one of map.querySelectorAll("[aria-pressed]")) one.removeAttribute("aria-pressed");
  from?.setAttribute("aria-pressed", "true");
  close.hidden = false;
  try {
    /** @type {Api.CellView} */
    const found = await ask("GET", `keys/${key.slug}/${cell.degree}?${query()}`);
    if (mine !== looked) return;
    putClose(found, from);
    byId("close-title").focus();
    close.scrollIntoView({ block: "start" });
  } catch (error) {
    if (mine === looked) trouble(close, messageOf(error), () => look(key, cell, from));
  }
}

/** @type {(days: number) => string} */
const ago = (days) => (days === 0 ? _("today") : days === 1 ? _("yesterday") : ngettext("{count} day ago", "{count} days ago", days));
/** @type {(box: number | null) => string} */
const where = (box) => (box === null ? "" : box === 0 ? _("open position") : _("box {box}", { box }));

/**
 * Away from the cell, to where it was opened.
 * @type {(from: HTMLElement | null) => void}
 */
function leave(from) {
  closeIt();
  from?.removeAttribute("aria-pressed");
  (from?.isConnected ? from : view).scrollIntoView({ block: "center" });
  from?.focus();
}

function closeIt() {
  looked += 1;
  close.hidden = true;
}

/** @type {(found: Api.CellView, from: HTMLElement | null) => void} */
function putClose(found, from) {
  into(close,
    el("h2", { id: "close-title", tabindex: "-1" }, found.title),
    el("p", {}, found.words),
    el("div", { class: "row" }, el("button", { type: "button", class: "work", onclick: (event) => drill(found.focus, event.currentTarget, byId("close-trouble")) }, _("Drill this")),
      el("button", { type: "button", class: "key", onclick: () => leave(from) }, _("Back to the map"))),
    el("div", { id: "close-trouble" }),
    el("div", { class: "abreast" },
      found.drawing && drawing(found.drawing, "drawing small"),
      found.course && el("figure", {},
        el("figcaption", {}, _("Seconds over time: filled dots are clean, tinted ones late, open ones missed")),
        drawing(found.course, "drawing wide"),
        behind(_("Last answers"), [_("When"), _("Ask"), _("Where"), _("Seconds"), _("Outcome")], found.answers.map((one) =>
          [ago(one.days), one.ask, where(one.box), one.seconds === null ? _("not known") : sayNumber(one.seconds, 1), nameOf(one.outcome)])))),
    found.cards.length > 0 && table(_("Its cards, the weakest first"), [_("Card"), _("Of 100 clean"), _("Answers"), _("Last")], found.cards.map((card) =>
      [listed(", ", card.ask, card.detail, card.chord, where(card.box)), percent(card.p), String(card.answers), outcomeMark(card.outcome)])),
  );
}

/**
 * Starts a session weighted to cards with these skills; what goes wrong is said in `place`.
 * @type {(focus: string[], from: HTMLButtonElement, place: HTMLElement) => Promise<void>}
 */
async function drill(focus, from, place) {
  from.disabled = true;
  try {
    /** @type {Api.Session} */
    const session = await ask("POST", "sessions", { tab: tabId(), focus });
    await holdHere(session);
    location.assign("/session");
  } catch (error) {
    from.disabled = false;
    trouble(place, error instanceof Refused && error.body.running ? _("A session is running already: go on with it on the first page, or end it there.") : messageOf(error));
  }
}

view.addEventListener("change", () => {
  history.replaceState(null, "", `?${new URLSearchParams(chosen())}`);
  closeIt();
  show();
  say(_("The map is drawn anew."));
});
view.addEventListener("submit", (event) => event.preventDefault());
const showAll = () => show().then(() => showFigures(drill));

// Back from a session, what was answered since counts.
addEventListener("pageshow", (event) => event.persisted && location.reload());
startImport(showAll);
fromAddress();
view.inert = false;
startSending();
showAll();
