// The player's settings in a form, on the first visit and on the Settings page.

import { all, byId, steppers } from "./dom.js";
import { sayNumber } from "./words.js";

/** @type {Record<string, (form: FormData, boxes: HTMLInputElement[]) => unknown>} */
const READERS = {
  keys: (form) => form.getAll("keys"),
  left_handed: (form) => form.get("left_handed") === "yes",
  hand: (form) => form.get("hand"),
  tempo: (form) => Number(form.get("tempo")),
  minutes: (form) => Number(form.get("minutes")),
  richer: (form) => form.get("richer") === "on",
  thumb: (form) => form.get("thumb") === "on",
  barre: (form) => form.get("barre"),
  band: (form) => form.get("band") === "on",
  tuning: (form) => form.get("tuning"),
  capo: (form) => Number(form.get("capo")),
  frets: (form) => Number(form.get("frets")),
  scale_mm: (form) => Number(form.get("scale_mm")),
  highest: (form) => Number(form.get("highest")),
  switched_off: (_form, groups) => groups.filter((group) => !group.checked).map((group) => group.value),
  days: (form) => form.getAll("days"),
  why: (form) => form.get("why") === "on",
  day_start: (form) => Number(form.get("day_start")),
  zone: (form) => form.get("zone"),
};

/**
 * Puts `settings` into the form and wires its steppers and the length of a bar.
 * @type {(form: HTMLFormElement, settings: Api.Settings) => void}
 */
export function fill(form, settings) {
  for (const input of /** @type {Iterable<HTMLInputElement>} */ (form.elements)) {
    if (!(input.name in settings)) continue;
    const value = settings[input.name];
    if (input.name === "keys" || input.name === "days") input.checked = settings[input.name].includes(input.value);
    else if (input.name === "switched_off") input.checked = !settings.switched_off.includes(input.value);
    else if (input.name === "left_handed") input.checked = (input.value === "yes") === value;
    else if (input.type === "radio") input.checked = input.value === value;
    else if (input.type === "checkbox") input.checked = value === true;
    else input.value = String(value);
  }
  for (const more of form.querySelectorAll("details")) more.open = more.querySelector(":checked") !== null;
  steppers(form);
  showBar(form);
  form.addEventListener("input", () => showBar(form));
  form.addEventListener("change", () => showBar(form));
}

/** @type {(form: HTMLFormElement) => void} */
function showBar(form) {
  const tempo = Number(new FormData(form).get("tempo"));
  if (tempo > 0) byId("bar").textContent = sayNumber((4 * 60) / tempo, 1);
}

/**
 * The value of one field, or of all fields that the form has.
 * @type {(form: HTMLFormElement, name?: string | null) => Record<string, unknown>}
 */
export function read(form, name = null) {
  const data = new FormData(form);
  const names = name ? [name] : all(form, "[data-field]").map((field) => field.dataset.field ?? "");
  return Object.fromEntries(names.map((one) => [one, READERS[one](data, all(form, `[name="${one}"]`, HTMLInputElement))]));
}

/**
 * The name of the field that an input is in.
 * @type {(input: Element) => string}
 */
export const fieldOf = (input) => /** @type {HTMLElement | null} */ (input.closest("[data-field]"))?.dataset.field ?? "";

/**
 * Says what is wrong with a field where it stands (or at `place` in it); an empty sentence takes it away.
 * @type {(form: HTMLFormElement, name: string, sentence: string, place?: Element | null) => void}
 */
export function problem(form, name, sentence, place = null) {
  const field = form.querySelector(`[data-field="${CSS.escape(name)}"]`);
  field?.querySelector(".problem")?.remove();
  if (!field || !sentence) return;
  const said = document.createElement("p");
  said.className = "problem";
  said.setAttribute("role", "alert");
  said.textContent = sentence;
  (place ?? field).append(said);
}
