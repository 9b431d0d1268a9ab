// The Settings page: every change is kept at once, or said to be wrong where it stands.

import { ASKS } from "../lib/asks.js";
import { byId, el, trouble } from "../lib/dom.js";
import { fill, problem, read } from "../lib/fields.js";
import { startSending } from "../device/sending.js";
import { ask, Refused } from "../device/service.js";

const form = byId("fields");
const theme = byId("theme");
let first = false; // whether nothing was ever set

async function show() {
  try {
    const { settings, groups, first_visit } = await ask("GET", "player");
    first = first_visit;
    byId("trouble").replaceChildren();
    byId("groups").replaceChildren(...PARTS.map(([about, holds]) => part(about, groups.filter(({ name }) => holds(name)))));
    fill(form, settings);
    form.addEventListener("change", keep);
    form.inert = false; // Until here, a change would have been lost.
  } catch (error) {
    trouble(byId("trouble"), error.message, show);
  }
}

/** The groups of cards in words, in the order in which they are met. */
const PARTS = [
  ["Kinds of question", (name) => name.startsWith("ask:")],
  ["Boxes", (name) => name.startsWith("box:")],
  ["Chords and keys", (name) => !/^(ask|box):/.test(name)],
];
const ORDER = Object.keys(ASKS);
const words = (name) => ASKS[name.replace("ask:", "")]?.group ?? { sevenths: "seventh chords of major keys" }[name] ?? name.replace(":", " ");
const place = ({ name }) => `${ORDER.indexOf(name.replace("ask:", "")) + 100}${name}`;

function part(about, groups) {
  const sorted = groups.toSorted((one, other) => (place(one) < place(other) ? -1 : 1));
  const check = ({ name, cards }) =>
    el("li", {}, el("label", { class: "check" },
      el("input", { type: "checkbox", name: "switched_off", value: name }), el("span", {}, words(name), " ", el("span", { class: "quiet" }, `${cards.toLocaleString("en")} cards`))));
  return el("fieldset", { "data-place": "" }, el("legend", { class: "quiet" }, about), el("ul", { class: "groups-of" }, sorted.map(check)));
}

/** A suggestion goes into its field as if it had been written there. */
function suggest(event) {
  const { fill: name, value } = event.target.dataset;
  if (!name) return;
  form.elements[name].value = value;
  form.elements[name].dispatchEvent(new Event("change", { bubbles: true }));
}

const unkept = new Map(); // by field, the element that was changed
let sending = Promise.resolve();

function keep({ target }) {
  changed(target);
  if (first) changed(zoneOfDevice());
  first = false;
  sending = sending.then(keepAll);
}

const changed = (target) => unkept.set(target.closest("[data-field]").dataset.field, target);

/** A new player's day turns where the device is, unless the zone is said. */
function zoneOfDevice() {
  const { zone } = form.elements;
  if (!unkept.has("zone")) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone;
  return zone;
}

/** Keeps what was changed, one field after the other as it stands then; what cannot be sent stays to be kept. */
async function keepAll() {
  for (const [name, target] of [...unkept]) {
    unkept.delete(name); // What is changed from here on is to be kept anew.
    try {
      await ask("PUT", "settings", read(form, name));
      problem(form, name, "");
      byId("saved").textContent = `Kept at ${new Date().toLocaleTimeString()}.`;
    } catch (error) {
      if (!(error instanceof Refused)) {
        unkept.set(name, target);
        return trouble(byId("trouble"), `Not kept: ${error.message}`, () => (sending = sending.then(keepAll)));
      }
      problem(form, name, error.message, target.closest("[data-place]"));
    }
  }
  return byId("trouble").replaceChildren();
}

function showTheme() {
  const chosen = localStorage.getItem("theme") ?? "";
  for (const input of theme.querySelectorAll("input")) input.checked = input.value === chosen;
}

theme.addEventListener("change", (event) => {
  if (event.target.value) localStorage.setItem("theme", event.target.value);
  else localStorage.removeItem("theme");
  document.documentElement.dataset.theme = event.target.value;
});

byId("zones").replaceChildren(...(Intl.supportedValuesOf?.("timeZone") ?? []).map((zone) => new Option(zone)));
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("click", suggest);
showTheme();
startSending();
show();
