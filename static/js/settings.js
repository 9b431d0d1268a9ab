// The Settings page: every change is kept at once, or said to be wrong where it stands.

import { ASKS } from "./asks.js";
import { byId, el, trouble } from "./dom.js";
import { fill, problem, read } from "./fields.js";
import { startSending } from "./sending.js";
import { ask, Refused } from "./service.js";

const form = byId("fields");
const theme = byId("theme");

async function show() {
  try {
    const { settings, groups } = await ask("GET", "player");
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

async function keep(event) {
  const name = event.target.closest("[data-field]").dataset.field;
  try {
    await ask("PUT", "settings", read(form, name));
    problem(form, name, "");
    byId("saved").textContent = `Kept at ${new Date().toLocaleTimeString()}.`;
    byId("trouble").replaceChildren();
  } catch (error) {
    if (error instanceof Refused) problem(form, name, error.message, event.target.closest("[data-place]"));
    else trouble(byId("trouble"), `Not kept: ${error.message}`, () => keep(event));
  }
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
