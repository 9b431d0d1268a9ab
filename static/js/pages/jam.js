// One jam: its set list in order, the keys called that night, its values, a copy for another date. Changes are
// saved as they are made.

import { Changes } from "../jams/changes.js";
import { adding } from "../jams/choosing.js";
import { all, byId, el, into, say, trouble, within } from "../lib/dom.js";
import { fillForm, inDays, keepAlong, sayBoxes, zoneIn } from "../jams/form.js";
import { ordering } from "../jams/ordering.js";
import { showReadiness } from "../jams/readiness.js";
import { ask, messageOf, Refused, reviewId } from "../device/service.js";
import { SetList } from "../jams/setlist.js";
import { _, ngettext } from "../lib/words.js";

const id = byId("jam").dataset.jam ?? "";
const form = within(document, ".jam-form", HTMLFormElement);
const tabs = new BroadcastChannel(`jam ${id}`);
const list = new SetList(byId("jam"), { step, off: takeOff, call });
const order = ordering(list.element, { moved, dropped: () => show(changes.jam) });
const changes = new Changes(id, { show, refused, away, merged, done });
const values = keepAlong(form, (change) => changes.make(change));
/** @type {{ entry: Api.Entry, before: string | null }[]} */
const gone = []; // entries taken off here, the last one last

// ---- the jam on the page

async function read() {
  /** @type {Api.Jam} */
  let jam;
  try {
    jam = await ask("GET", `jams/${id}`);
  } catch (error) {
    return trouble(byId("trouble"), messageOf(error), error instanceof Refused ? null : read);
  }
  byId("trouble").replaceChildren();
  changes.take(jam);
  return addFromAddress();
}

/** Reads the jam again, unless what was changed here is still on its way. */
const refresh = () => (changes.waiting ? changes.send() : read());

/** @type {(jam: Api.Jam) => void} */
function show(jam) {
  byId("name").textContent = jam.name;
  document.title = `${jam.name} · Anchor Drill`;
  byId("when").textContent = [jam.when, inDays(jam.days), jam.place, ...sayBoxes(jam.boxes)].filter(Boolean).join(" · ");
  const open = !jam.past && !jam.deleted;
  byId("ways").hidden = jam.deleted;
  byId("past").hidden = !jam.past || jam.deleted;
  byId("set-list").hidden = jam.deleted;
  byId("values").hidden = byId("adding").hidden = !open;
  zoneIn(form, jam.zone);
  values.show(jam);
  if (jam.deleted) putDeleted(jam);
  list.put(jam, order.dragging);
  byId("none").hidden = jam.entries.length > 0;
  if (!list.element.isConnected) byId("entries").append(list.element);
  if (!jam.entries.length && open) byId("adding", HTMLDetailsElement).open = true;
  byId("readiness").hidden = jam.deleted;
  if (!changes.waiting) tellReadiness(jam);
}

let toldOf = "";

/**
 * How ready it is, told anew when what it depends on has changed and is kept.
 * @type {(jam: Api.Jam) => void}
 */
function tellReadiness(jam) {
  const of = JSON.stringify([jam.local, jam.boxes, jam.entries.map(({ tune, key, tempo }) => [tune, key, tempo])]);
  if (of === toldOf) return;
  toldOf = of;
  showReadiness(byId("readiness"), id);
}

/** @type {(jam: Api.Jam) => void} */
function putDeleted(jam) {
  if (byId("undo").querySelector("[data-back]")) return;
  const back = el("button", { type: "button", class: "key", "data-back": true, onclick: haveBack }, _("Have it back"));
  into(byId("undo"), el("div", { class: "notice" }, el("p", { role: "status" }, _("{name} is deleted.", { name: jam.name })), el("div", { class: "row tight" }, back, el("a", { class: "key", href: "/jams" }, _("All jams")))));
}

// ---- what becomes of changes

/** @type {(taken: boolean) => void} */
function done(taken) {
  if (taken) byId("trouble").replaceChildren();
  tabs.postMessage("changed");
}

/** @type {(error: unknown) => void} */
function away(error) {
  trouble(byId("trouble"), _("{reason} What you changed is kept on this device.", { reason: messageOf(error) }), () => changes.send());
}

function merged() {
  say(_("The set list was changed elsewhere meanwhile. Your change is made to the new list."));
}

/** @type {(change: Jams.Change, error: Refused) => void} */
function refused(change, error) {
  if (change.kind === "value") values.refused(change, error);
  else if (change.kind === "call" && error.body.field === "tempo") {
    const row = list.row(change.id);
    if (!row) return;
    row.tempo.value = String(change.values.tempo);
    row.says(messageOf(error));
  } else trouble(byId("trouble"), messageOf(error));
}

// ---- the set list

const entriesNow = () => changes.jam.entries;

/**
 * An entry of the set list as it stands.
 * @type {(entryId: string) => Api.Entry}
 */
function entryOf(entryId) {
  const found = entriesNow().find((entry) => entry.id === entryId);
  if (!found) throw new RangeError(`no entry ${entryId} in the set list`);
  return found;
}

/** @type {(entryId: string, before: string | null) => void} */
function move(entryId, before) {
  const { title } = entryOf(entryId);
  changes.make({ kind: "move", id: entryId, before });
  const entries = entriesNow();
  const place = entries.findIndex((entry) => entry.id === entryId) + 1;
  say(_("{title} is number {place} of {count} now", { title, place, count: entries.length }));
}

/**
 * A row has a new place on the page.
 * @type {(row: HTMLElement) => void}
 */
function moved(row) {
  const below = /** @type {HTMLElement | null} */ (row.nextElementSibling);
  move(row.dataset.entry ?? "", below?.dataset.entry ?? null);
}

/** @type {(entryId: string, by: number) => void} */
function step(entryId, by) {
  const entries = entriesNow();
  const at = entries.findIndex((each) => each.id === entryId);
  if (!entries[at + by]) return say(by < 0 ? _("It is the first.") : _("It is the last."));
  return move(entryId, entries[by < 0 ? at - 1 : at + 2]?.id ?? null);
}

/** @type {(entryId: string, called: Jams.Called) => void} */
function call(entryId, called) {
  const { title, own_key: own } = entryOf(entryId);
  changes.make({ kind: "call", id: entryId, values: called });
  if ("key" in called) say(_("{title} in {key}", { title, key: called.key ?? own }));
  else if (called.tempo) say(_("{title} at {tempo} bpm", { title, tempo: called.tempo }));
  else say(_("{title} at its own tempo", { title }));
}

/** @type {(entryId: string) => void} */
function takeOff(entryId) {
  const entries = entriesNow();
  const at = entries.findIndex((each) => each.id === entryId);
  gone.push({ entry: entries[at], before: entries[at + 1]?.id ?? null });
  changes.make({ kind: "off", id: entryId });
  putGone()?.focus();
}

/** Offers to have the entry back that was taken off last. */
function putGone() {
  const last = gone.at(-1);
  if (!last) {
    into(byId("order-undo"));
    return null;
  }
  const back = el("button", { type: "button", class: "key", onclick: putBack }, _("Have it back"));
  into(byId("order-undo"), el("div", { class: "notice" }, el("p", { role: "status" }, _("{title} is off the list.", { title: last.entry.title })), back));
  return back;
}

function putBack() {
  const last = gone.pop();
  if (!last) return;
  const { entry, before } = last;
  changes.make({ kind: "add", entries: [entry], before });
  putGone();
  list.row(entry.id)?.handle.focus();
  say(_("{title} is back", { title: entry.title }));
}

/** @type {(tunes: Api.Tune[]) => void} */
const add = (tunes) => {
  const chosen = tunes.map(({ id: tune, title, key, chords, bars, capo }) => ({
    id: reviewId(), tune, title, key: null, tempo: null, own_key: key, mode: null, calls: [], plays_in: key, chords, bars, capo,
  }));
  changes.make({ kind: "add", entries: chosen });
  say(ngettext("{count} tune added", "{count} tunes added", tunes.length));
};

adding(byId("adding", HTMLDetailsElement), id, add, () => entriesNow());

/** A tune that was just written for this jam comes with the address. */
async function addFromAddress() {
  const wanted = new URLSearchParams(location.search).get("add");
  if (!wanted) return;
  history.replaceState(null, "", location.pathname);
  if (!/^[0-9a-f]{32}$/.test(wanted) || entriesNow().some((each) => each.tune === wanted)) return;
  try {
    /** @type {Api.Tune} */
    const tune = await ask("GET", `tunes/${wanted}`);
    add([tune]);
  } catch (error) {
    trouble(byId("trouble"), messageOf(error));
  }
}

// ---- a copy, deletion

byId("copy").addEventListener("click", () => {
  const { local } = changes.jam;
  const week = new Date(`${local}Z`);
  do week.setUTCDate(week.getUTCDate() + 7); while (week.getTime() < Date.now());
  const date = el("input", { type: "datetime-local", class: "line", value: week.toISOString().slice(0, 16) });
  const said = el("p", { class: "problem", role: "alert" });
  const made = { id: reviewId() };
  /** @type {(event: Event) => Promise<void>} */
  const copy = async (event) => {
    event.preventDefault();
    try {
      await ask("POST", `jams/${id}/copies`, { ...made, at: date.value });
      location.href = `/jams/${made.id}`;
    } catch (error) {
      said.textContent = messageOf(error);
      date.focus();
    }
  };
  const leave = () => { into(byId("undo")); byId("copy").focus(); };
  into(byId("undo"), el("form", { class: "notice", novalidate: true, onsubmit: copy }, el("label", {}, _("When is the next one?"), date), said,
    el("div", { class: "row tight" }, el("button", { type: "submit", class: "key" }, _("Make the copy")), el("button", { type: "button", class: "key", onclick: leave }, _("Leave it")))));
  date.focus();
});

byId("delete").addEventListener("click", async () => {
  try {
    await ask("DELETE", `jams/${id}`, {});
    into(byId("undo"));
    await read();
    all(byId("undo"), "[data-back]")[0]?.focus();
    tabs.postMessage("changed");
  } catch (error) {
    trouble(byId("undo"), messageOf(error));
  }
});

async function haveBack() {
  try {
    /** @type {Api.Jam} */
    const jam = await ask("POST", `jams/${id}/back`, {});
    into(byId("undo"));
    changes.take(jam);
    byId("delete").focus();
    say(_("{name} is back.", { name: jam.name }));
    tabs.postMessage("changed");
  } catch (error) {
    trouble(byId("undo"), messageOf(error), haveBack);
  }
}

// ---- other tabs, leaving, coming back

tabs.onmessage = () => refresh();
addEventListener("pageshow", (event) => event.persisted && refresh());
addEventListener("online", refresh);
document.addEventListener("visibilitychange", () => document.hidden || refresh());
addEventListener("beforeunload", (event) => (changes.waiting || values.typing) && event.preventDefault());
fillForm(form, { boxes: [] });
read();
