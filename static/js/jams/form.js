// The values of a jam in a form: filled in, read, kept as they are changed, and what is wrong beside its field.

import { all, control, el, inputOf, into, within } from "../lib/dom.js";
import { _, ngettext, sayList } from "../lib/words.js";

/** @import { Refused } from "../device/service.js" */

const PAUSE = 800; // ms after the last change of a date, which is put together of several
/** @type {Jams.Name[]} */
const NAMES = ["name", "at", "place", "boxes"];
/** @type {Record<string, (theirs: unknown) => string>} */
const CHANGED = {
  name: (theirs) => _("The name was changed elsewhere to “{theirs}”.", { theirs }),
  at: (theirs) => _("The date was changed elsewhere to “{theirs}”.", { theirs }),
  place: (theirs) => _("The place was changed elsewhere to “{theirs}”.", { theirs }),
  boxes: (theirs) => _("The boxes were changed elsewhere to “{theirs}”.", { theirs }),
};

/** @type {(jam: Partial<Api.Jam>) => Jams.Values} */
const ofJam = (jam) => ({ name: jam.name ?? "", at: jam.local ?? "", place: jam.place ?? "", boxes: jam.boxes ?? [] });

/** @type {(form: HTMLFormElement, name: Jams.Name, value: string | number[]) => void} */
function fillOne(form, name, value) {
  if (name !== "boxes") control(form, name).value = String(value);
  else for (const box of all(form, "[name=boxes]", HTMLInputElement)) box.checked = [value].flat().includes(Number(box.value));
}

/** @type {(form: HTMLFormElement, jam: Partial<Api.Jam>) => void} */
export function fillForm(form, jam) {
  for (const [name, value] of Object.entries(ofJam(jam))) fillOne(form, /** @type {Jams.Name} */ (name), value);
}

/** @type {(form: HTMLFormElement) => Jams.Values} */
export const readForm = (form) => ({
  name: control(form, "name").value,
  at: control(form, "at").value,
  place: control(form, "place").value,
  boxes: all(form, "[name=boxes]:checked", HTMLInputElement).map((box) => Number(box.value)),
});

/** @type {(form: HTMLFormElement, name: string) => HTMLElement | undefined} */
const placeOf = (form, name) => all(form, `[data-problem="${CSS.escape(name)}"]`)[0];

/**
 * Shows what is wrong and goes there; true if the form has the field.
 * @type {(form: HTMLFormElement, field?: string | null, sentence?: string) => boolean}
 */
export function problem(form, field = null, sentence = "") {
  for (const place of all(form, "[data-problem]")) place.textContent = place.dataset.problem === field ? sentence : "";
  if (!field || !placeOf(form, field)) return false;
  within(form, `[name="${field}"]`).focus();
  return true;
}

/**
 * Keeps a form along with a jam: `make(change)` gets every value as it is changed. What the service refused stays
 * as it was typed, with the reason beside it.
 * @type {(form: HTMLFormElement, make: (change: Jams.ValueChange) => void) => { readonly typing: boolean, show: (jam: Api.Jam) => void, refused: (change: Jams.ValueChange, error: Refused) => void }}
 */
export function keepAlong(form, make) {
  /** @type {Set<Jams.Name>} */
  const open = new Set(); // names of what was typed and is not kept
  /** @type {Jams.Values} */
  let kept = ofJam({});
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let waiting;

  /** @type {(a: unknown, b: unknown) => boolean} */
  const same = (a, b) => JSON.stringify(a) === JSON.stringify(b);
  /** @type {(name: Jams.Name, ...children: Dom.Children[]) => void} */
  const says = (name, ...children) => into(within(form, `[data-problem="${name}"]`), ...children);

  /** @type {(name: Jams.Name) => void} */
  function change(name) {
    const value = readForm(form)[name];
    says(name);
    open.delete(name);
    if (!same(value, kept[name])) make({ kind: "value", name, value, was: kept[name] });
  }

  form.addEventListener("input", (event) => open.add(/** @type {Jams.Name} */ (inputOf(event).name)));
  form.addEventListener("change", (event) => {
    const name = /** @type {Jams.Name} */ (inputOf(event).name);
    clearTimeout(waiting);
    if (name !== "at") change(name);
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
      /** @type {(words: string, onclick: () => void) => HTMLButtonElement} */
      const button = (words, onclick) => el("button", { type: "button", class: "key small", onclick }, words);
      const theirs = name === "boxes" ? sayList(kept.boxes.map((box) => (box ? String(box) : _("open")))) : name === "at" ? error.body.jam?.when : kept[name];
      return says(name, CHANGED[name](theirs), " ",
        button(_("Keep mine"), () => change(name)),
        button(_("Take that"), () => { open.delete(name); says(name); fillOne(form, name, kept[name]); }));
    },
  };
}

/** The boxes of a jam in words; 0 is the place nearest to the nut. @type {(boxes: number[]) => (string | false)[]} */
export const sayBoxes = (boxes) => {
  const numbered = boxes.filter(Boolean).map(String);
  return [
    numbered.length > 0 && ngettext("box {boxes}", "boxes {boxes}", numbered.length, { boxes: sayList(numbered) }),
    boxes.includes(0) && _("open position"),
  ];
};

/** @type {(days: number) => string} */
export const inDays = (days) => {
  if (days === 0) return _("today");
  if (days === 1) return _("tomorrow");
  if (days === -1) return _("yesterday");
  return days > 0 ? ngettext("in {count} day", "in {count} days", days) : ngettext("{count} day ago", "{count} days ago", -days);
};

/** @type {(form: HTMLFormElement, zone: string) => void} */
export const zoneIn = (form, zone) => {
  within(form, "[data-zone]").textContent = _("In your time zone, {zone}. You can change it in Settings.", { zone });
};
