// The values of a jam in a form: filled in, read, kept as they are changed, and what is wrong beside its field.

import { el, into } from "../lib/dom.js";

const PAUSE = 800; // ms after the last change of a date, which is put together of several
const NAMES = ["name", "at", "place", "boxes"];
const SAID = { name: "name", at: "date", place: "place", boxes: "boxes" };

const ofJam = (jam) => ({ name: jam.name ?? "", at: jam.local ?? "", place: jam.place ?? "", boxes: jam.boxes });

function fillOne(form, name, value) {
  if (name !== "boxes") form.elements[name].value = value;
  else for (const box of form.querySelectorAll("[name=boxes]")) box.checked = value.includes(Number(box.value));
}

export function fillForm(form, jam) {
  for (const [name, value] of Object.entries(ofJam(jam))) fillOne(form, name, value);
}

export const readForm = (form) => ({
  name: form.elements.name.value,
  at: form.elements.at.value,
  place: form.elements.place.value,
  boxes: [...form.querySelectorAll("[name=boxes]:checked")].map((box) => Number(box.value)),
});

const placeOf = (form, name) => form.querySelector(`[data-problem="${CSS.escape(name)}"]`);

/** Shows what is wrong and goes there; true if the form has the field. */
export function problem(form, field = null, sentence = "") {
  for (const place of form.querySelectorAll("[data-problem]")) place.textContent = place.dataset.problem === field ? sentence : "";
  if (!field || !placeOf(form, field)) return false;
  form.querySelector(`[name="${field}"]`).focus();
  return true;
}

/**
 * Keeps a form along with a jam: `make(change)` gets every value as it is changed. What the service refused stays
 * as it was typed, with the reason beside it.
 */
export function keepAlong(form, make) {
  const open = new Set(); // names of what was typed and is not kept
  let kept = null;
  let waiting = null;

  const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
  const says = (name, ...children) => into(placeOf(form, name), ...children);

  function change(name) {
    const value = readForm(form)[name];
    says(name);
    open.delete(name);
    if (!same(value, kept[name])) make({ kind: "value", name, value, was: kept[name] });
  }

  form.addEventListener("input", ({ target }) => open.add(target.name));
  form.addEventListener("change", ({ target }) => {
    clearTimeout(waiting);
    if (target.name !== "at") change(target.name);
    else waiting = setTimeout(() => change("at"), PAUSE);
  });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    for (const name of [...open]) change(name);
  });

  return {
    get typing() {
      return open.size > 0;
    },
    show(jam) {
      kept = ofJam(jam);
      form.inert = false;
      for (const name of NAMES) if (!open.has(name)) fillOne(form, name, kept[name]);
    },
    refused({ name, value }, error) {
      open.add(name);
      fillOne(form, name, value);
      if (error.status !== 409 || !error.body.field) return says(name, error.message);
      const button = (words, onclick) => el("button", { type: "button", class: "key small", onclick }, words);
      const theirs = name === "boxes" ? kept.boxes.join(", ") : name === "at" ? error.body.jam.when : kept[name];
      return says(name, `The ${SAID[name]} was changed elsewhere to “${theirs}”. `,
        button("Keep mine", () => change(name)),
        button("Take that", () => { open.delete(name); says(name); fillOne(form, name, kept[name]); }));
    },
  };
}

export const inDays = (days) => (days === 0 ? "today" : days === 1 ? "tomorrow" : days > 0 ? `in ${days} days` : days === -1 ? "yesterday" : `${-days} days ago`);

export const zoneIn = (form, zone) => (form.querySelector("[data-zone]").textContent = `In your time zone, ${zone}; Settings change it.`);
