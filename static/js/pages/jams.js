// The jams: those to come, those that were, and a new one.

import { deleting } from "../lib/deleting.js";
import { byId, control, el, into, trouble, within } from "../lib/dom.js";
import { draftOf, dropDraft, keepDraft } from "../device/drafts.js";
import { fillForm, inDays, problem, readForm, zoneIn } from "../jams/form.js";
import { ask, messageOf, Refused, reviewId } from "../device/service.js";
import { _, ngettext } from "../lib/words.js";

const list = byId("list");
const form = within(document, ".jam-form", HTMLFormElement);
const id = reviewId(); // of the jam that is made here: sent twice, it is made once

const remove = deleting(() => show());

async function show() {
  try {
    /** @type {{ jams: Api.JamRow[], zone: string }} */
    const { jams, zone } = await ask("GET", "jams");
    byId("trouble").replaceChildren();
    zoneIn(form, zone);
    put(jams);
  } catch (error) {
    into(list);
    trouble(byId("trouble"), messageOf(error), show);
  }
  list.removeAttribute("aria-busy");
}

/** @type {(jams: Api.JamRow[]) => void} */
function put(jams) {
  const coming = jams.filter((jam) => !jam.past);
  const past = jams.filter((jam) => jam.past).reverse();
  into(list,
    coming.length ? el("ul", { class: "tunes" }, coming.map(row))
      : el("p", {}, _("Your jams will stand here: the date, the set list and how ready you are. Make one below.")),
    past.length > 0 && el("details", { class: "more" }, el("summary", {}, _("Past ({count})", { count: past.length })), el("ul", { class: "tunes" }, past.map(row))));
}

/** @type {(jam: Api.JamRow) => HTMLElement} */
function row(jam) {
  return el("li", {},
    el("div", {},
      el("a", { href: `/jams/${jam.id}` }, jam.name),
      el("p", { class: "quiet" }, [jam.when, inDays(jam.days), jam.place].filter(Boolean).join(" · ")),
      el("p", { class: "quiet chords-of" }, jam.tunes.length ? ngettext("{count} tune: {titles}", "{count} tunes: {titles}", jam.tunes.length, { titles: jam.tunes.join(", ") }) : _("No tunes yet"))),
    el("div", { class: "row tight" },
      el("button", { type: "button", class: "key small", "aria-label": _("Delete {name}", { name: jam.name }), onclick: () => remove(`jams/${jam.id}`, jam.name) }, _("Delete"))));
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  problem(form);
  const button = within(form, ".work", HTMLButtonElement);
  button.disabled = true;
  try {
    await ask("POST", "jams", { id, ...readForm(form) });
    dropDraft("jam");
    location.href = `/jams/${id}`;
  } catch (error) {
    if (!(error instanceof Refused && problem(form, error.body.field, messageOf(error)))) trouble(byId("trouble"), messageOf(error));
  }
  button.disabled = false;
});

form.addEventListener("input", () => keepDraft("jam", { ...readForm(form), local: control(form, "at").value }));
addEventListener("pageshow", (event) => event.persisted && location.reload());
document.addEventListener("visibilitychange", () => document.hidden || show());
/** @type {Partial<Api.Jam> | null} */
const draft = draftOf("jam");
if (draft) fillForm(form, draft);
form.inert = false;
show();
