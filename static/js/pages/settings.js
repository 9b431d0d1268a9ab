// The Settings page: every change is kept at once, or said to be wrong where it stands.

import { ASKS } from "../lib/asks.js";
import { byId, control, el, inputOf, targetOf, trouble } from "../lib/dom.js";
import { fieldOf, fill, problem, read } from "../lib/fields.js";
import { startSending } from "../device/sending.js";
import { LOCAL } from "../device/stored.js";
import { ask, messageOf, Refused } from "../device/service.js";
import { _, ngettext, sayAmount, sayDate } from "../lib/words.js";

const form = byId("fields", HTMLFormElement);
const theme = byId("theme");
let first = false; // whether nothing was ever set

async function show() {
  try {
    /** @type {Api.Player} */
    const { settings, groups, first_visit } = await ask("GET", "player");
    first = first_visit;
    byId("trouble").replaceChildren();
    byId("groups").replaceChildren(...PARTS.map(([about, holds]) => part(about, groups.filter(({ name }) => holds(name)))));
    fill(form, settings);
    form.addEventListener("change", keep);
    form.inert = false; // Until here, a change would have been lost.
  } catch (error) {
    trouble(byId("trouble"), messageOf(error), show);
  }
}

/**
 * The groups of cards in words, in the order in which they are met.
 * @type {[string, (name: string) => boolean][]}
 */
const PARTS = [
  [_("Kinds of question"), (name) => name.startsWith("ask:")],
  [_("Boxes"), (name) => name.startsWith("box:") || name === "open position"],
  [_("Chords and keys"), (name) => !/^(ask|box):|^open position$/.test(name)],
];
const ORDER = Object.keys(ASKS);
/** @type {Record<string, string>} */
const CHORDS = { sevenths: _("seventh chords of major keys"), "minor keys": _("minor keys"), "open position": _("open position"), blues: _("blues") };
/** @type {(name: string) => string} */
function words(name) {
  const [kind, value] = name.split(":");
  if (kind === "ask") return ASKS[value].group;
  if (kind === "box") return _("box {box}", { box: value });
  return CHORDS[name] ?? name;
}
/** @type {(group: Api.Group) => string} */
const place = ({ name }) => `${ORDER.indexOf(name.replace("ask:", "")) + 100}${name}`;

/** @type {(about: string, groups: Api.Group[]) => HTMLElement} */
function part(about, groups) {
  const sorted = groups.toSorted((one, other) => (place(one) < place(other) ? -1 : 1));
  /** @type {(group: Api.Group) => HTMLElement} */
  const check = ({ name, cards }) =>
    el("li", {}, el("label", { class: "check" },
      el("input", { type: "checkbox", name: "switched_off", value: name }), el("span", {}, words(name), " ", el("span", { class: "quiet" }, ngettext("{cards} card", "{cards} cards", cards, { cards: sayAmount(cards) })))));
  return el("fieldset", { "data-place": "" }, el("legend", { class: "quiet" }, about), el("ul", { class: "groups-of" }, sorted.map(check)));
}

/**
 * A suggestion goes into its field as if it had been written there.
 * @type {(event: Event) => void}
 */
function suggest(event) {
  const { fill: name, value } = targetOf(event).dataset;
  if (!name) return;
  const field = control(form, name);
  field.value = value ?? "";
  field.dispatchEvent(new Event("change", { bubbles: true }));
}

/** @type {Map<string, HTMLElement>} */
const unkept = new Map(); // by field, the element that was changed
/** @type {Promise<void>} */
let sending = Promise.resolve();

/** @type {(event: Event) => void} */
function keep(event) {
  changed(targetOf(event));
  if (first) changed(zoneOfDevice());
  first = false;
  sending = sending.then(keepAll);
}

/** @type {(target: HTMLElement) => void} */
const changed = (target) => void unkept.set(fieldOf(target), target);

/** A new player's day turns where the device is, unless the zone is said. */
function zoneOfDevice() {
  const zone = control(form, "zone");
  if (!unkept.has("zone")) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone;
  return zone;
}

/**
 * Keeps what was changed, one field after the other as it stands then; what cannot be sent stays to be kept.
 * @type {() => Promise<void>}
 */
async function keepAll() {
  for (const [name, target] of [...unkept]) {
    unkept.delete(name); // What is changed from here on is to be kept anew.
    try {
      await ask("PUT", "settings", read(form, name));
      problem(form, name, "");
      byId("saved").textContent = _("Kept at {time}.", { time: sayDate(new Date(), { timeStyle: "medium" }) });
    } catch (error) {
      if (!(error instanceof Refused)) {
        unkept.set(name, target);
        return trouble(byId("trouble"), _("Not kept: {reason}", { reason: messageOf(error) }), () => (sending = sending.then(keepAll)));
      }
      problem(form, name, messageOf(error), target.closest("[data-place]"));
    }
  }
  return byId("trouble").replaceChildren();
}

function showTheme() {
  const chosen = localStorage.getItem(LOCAL.theme) ?? "";
  for (const input of theme.querySelectorAll("input")) input.checked = input.value === chosen;
}

theme.addEventListener("change", (event) => {
  const { value } = inputOf(event);
  if (value) localStorage.setItem(LOCAL.theme, value);
  else localStorage.removeItem(LOCAL.theme);
  document.documentElement.dataset.theme = value;
});

byId("zones").replaceChildren(...(Intl.supportedValuesOf?.("timeZone") ?? []).map((zone) => new Option(zone)));
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("click", suggest);
showTheme();
startSending();
show();
