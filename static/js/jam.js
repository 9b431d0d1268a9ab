// One jam: its set list in order, the key called that night, its values, a copy for another date.

import { byId, count, el, into, say, trouble } from "./dom.js";
import { fillForm, problem, readForm, zoneIn } from "./jamform.js";
import { ordering } from "./ordering.js";
import { showReadiness } from "./readiness.js";
import { ask, Refused } from "./service.js";

const MAJOR = ["C", "D♭", "D", "E♭", "E", "F", "G♭", "G", "A♭", "A", "B♭", "B"];
const MINOR = ["C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B"];
const MANY = 12;
const id = byId("jam").dataset.jam;
const form = document.querySelector(".jam-form");
let jam = null;
let saving = Promise.resolve();

async function show() {
  try {
    put(await ask("GET", `jams/${id}`));
    byId("trouble").replaceChildren();
    await addFromAddress();
  } catch (error) {
    trouble(byId("trouble"), error.message, error instanceof Refused ? null : show);
  }
  byId("set-list").removeAttribute("aria-busy");
}

function put(found, { values = true } = {}) {
  jam = found;
  byId("name").textContent = jam.name;
  document.title = `${jam.name} · Anchor Drill`;
  byId("when").textContent = [jam.when, inDays(jam.days), jam.place, `box ${jam.boxes.join(", ")}`].filter(Boolean).join(" · ");
  byId("ways").hidden = false;
  if (values) fillForm(form, jam);
  zoneIn(form, jam.zone);
  putEntries();
  tellReadiness();
}

const inDays = (days) => (days === 0 ? "today" : days === 1 ? "tomorrow" : days > 0 ? `in ${days} days` : days === -1 ? "yesterday" : `${-days} days ago`);

// ---- how ready it is, told anew when what it depends on has changed

let toldOf = "";
function tellReadiness() {
  const of = JSON.stringify([jam.local, jam.boxes, jam.entries.map(({ tune, key, tempo }) => [tune, key, tempo])]);
  if (of === toldOf) return;
  toldOf = of;
  showReadiness(byId("readiness"), id);
}

// ---- the set list

function putEntries() {
  byId("adding").open ||= !jam.entries.length;
  if (!jam.entries.length) return into(byId("entries"), el("p", {}, "No tune yet. Add those that will be played, in order; each can have its own key and tempo that night."));
  const list = el("ol", { class: "set-list" }, jam.entries.map(row));
  ordering(list, move);
  return into(byId("entries"), list);
}

function row(entry, number) {
  const last = jam.entries.length - 1;
  return el("li", { "data-entry": entry.id },
    el("button", { type: "button", class: "handle key", "aria-label": `Move ${entry.title}: drag it, or Alt and the arrows` }, "⠿"),
    el("div", { class: "played-as" },
      el("a", { href: `/tunes/${entry.tune}` }, entry.title),
      el("p", { class: "quiet" }, `${entry.plays_in}${entry.key ? `, stands in ${entry.own_key}` : ""} · ${entry.plays_at} bpm · ${count(entry.bars, "bar")}${entry.capo ? ` · capo ${entry.capo}` : ""}`),
      el("p", { class: "quiet chords-of" }, entry.chords.join(" "))),
    el("div", { class: "row tight called" },
      el("label", { class: "short" }, "Key", keySelect(entry)),
      el("label", { class: "short" }, "Tempo", el("input", { type: "number", class: "line", inputmode: "numeric", min: 30, max: 240, value: entry.tempo ?? "", placeholder: entry.plays_at, "aria-label": `Tempo of ${entry.title}`, onchange: (event) => setTempo(entry, event.target) }))),
    el("div", { class: "row tight" },
      el("button", { type: "button", class: "key small", disabled: number === 0, "aria-label": `${entry.title} up`, onclick: () => move(number, number - 1, "up") }, "↑"),
      el("button", { type: "button", class: "key small", disabled: number === last, "aria-label": `${entry.title} down`, onclick: () => move(number, number + 1, "down") }, "↓"),
      el("a", { class: "key small", href: `/tunes/${entry.tune}/play?jam=${id}&entry=${entry.id}`, "aria-label": `Play along with ${entry.title}` }, "Play"),
      el("button", { type: "button", class: "key small", "aria-label": `Take ${entry.title} off the list`, onclick: () => takeOff(number) }, "Off")));
}

function keySelect(entry) {
  const mark = entry.minor ? "m" : entry.own_key.endsWith(" blues") ? " blues" : "";
  const names = entry.minor ? MINOR : MAJOR;
  const fourth = ["up a fourth", 5];
  const from = names.indexOf(entry.own_key.replace(/( blues|m)$/, ""));
  const option = (value, words) => el("option", { value, selected: (entry.key ?? "") === value }, words);
  const said = (tonic, steps) => (steps === fourth[1] ? `${tonic}${mark}, ${fourth[0]}` : steps === 7 ? `${tonic}${mark}, up a fifth` : `${tonic}${mark}`);
  return el("select", { "aria-label": `Key of ${entry.title} that night`, onchange: (event) => save(jam.entries.map((each) => (each.id === entry.id ? { ...each, key: event.target.value || null } : each)), `${entry.title} in ${event.target.value || entry.own_key}`) },
    option("", `${entry.own_key} (its own)`),
    names.map((tonic, at) => option(`${tonic}${mark}`, said(tonic, (at - from + 12) % 12))));
}

function setTempo(entry, input) {
  const tempo = input.value === "" ? null : Number(input.value);
  return save(jam.entries.map((each) => (each.id === entry.id ? { ...each, tempo } : each)), `${entry.title} at ${tempo ?? "its own tempo"}`);
}

async function move(from, to, way = null) {
  if (from === to) return putEntries();
  const entries = [...jam.entries];
  const [moved] = entries.splice(from, 1);
  entries.splice(to, 0, moved);
  await save(entries, `${moved.title} is number ${to + 1} now`);
  const there = document.querySelector(`[data-entry="${moved.id}"]`);
  const again = there?.querySelector(way ? `[aria-label="${CSS.escape(`${moved.title} ${way}`)}"]:enabled` : ".handle") ?? there?.querySelector(".handle");
  again?.focus();
  return undefined;
}

async function takeOff(number) {
  const before = jam.entries;
  const gone = before[number];
  if (!(await save(before.filter((each) => each !== gone), `${gone.title} is off the list`))) return;
  const again = { ...gone, id: null };
  const back = el("button", { type: "button", class: "key", onclick: async () => { into(byId("order-undo")); await save([...jam.entries.slice(0, number), again, ...jam.entries.slice(number)], `${gone.title} is back`); } }, "Have it back");
  into(byId("order-undo"), el("div", { class: "notice" }, el("p", {}, `${gone.title} is off the list.`), back));
  back.focus();
}

/** Saves an order, after those that are on their way; true if it was taken. */
function save(entries, said) {
  const task = async () => {
    const wanted = entries.map(({ id: entry, tune, key, tempo }) => ({ id: entry, tune, key, tempo }));
    try {
      put(await ask("PUT", `jams/${id}/set-list`, { was: jam.entries.map((each) => each.id), entries: wanted }), { values: false });
      byId("trouble").replaceChildren();
      say(said);
      return true;
    } catch (error) {
      if (error instanceof Refused && error.status === 409) put(error.body.jam, { values: false });
      else putEntries();
      trouble(byId("trouble"), `${error.message} Not done: ${said}.`, error instanceof Refused ? null : () => save(entries, said));
      return false;
    }
  };
  saving = saving.then(task, task);
  return saving;
}

// ---- adding

async function putTunes() {
  const place = byId("tunes-to-add");
  try {
    const { tunes } = await ask("GET", "tunes");
    const way = el("a", { class: "key", href: `/tunes/new?jam=${id}` }, "A new tune");
    if (!tunes.length) return into(place, el("p", {}, "There is no tune yet: type one in, start from a form, or bring files on the Tunes page."), el("div", { class: "row" }, way, el("a", { class: "key", href: "/tunes" }, "Tunes")));
    const items = el("div", { class: "groups-of" }, tunes.map((tune) => el("label", { class: "check" }, el("input", { type: "checkbox", value: tune.id }), `${tune.title}, ${tune.key}`)));
    const find = tunes.length >= MANY && el("label", {}, "Find ", el("input", { type: "search", class: "line", oninput: (event) => filter(items, event.target.value) }));
    const add = el("button", { type: "button", class: "work", onclick: () => addChosen(items) }, "Add");
    return into(place, find, items, el("div", { class: "row" }, add, way));
  } catch (error) {
    return trouble(place, error.message, putTunes);
  }
}

function filter(items, wanted) {
  for (const item of items.children) item.hidden = !item.textContent.toLocaleLowerCase().includes(wanted.trim().toLocaleLowerCase());
}

async function addChosen(items) {
  const boxes = [...items.querySelectorAll(":checked")];
  if (!boxes.length) return say("Tick the tunes to add.");
  if (await add(boxes.map((box) => box.value))) for (const box of boxes) box.checked = false;
  return undefined;
}

const add = (tunes) => save([...jam.entries, ...tunes.map((tune) => ({ id: null, tune, key: null, tempo: null }))], `${count(tunes.length, "tune")} added`);

async function addFromAddress() {
  const wanted = new URLSearchParams(location.search).get("add");
  if (!wanted) return;
  history.replaceState(null, "", location.pathname);
  if (/^[0-9a-f]{32}$/.test(wanted) && !jam.entries.some((each) => each.tune === wanted)) await add([wanted]);
}

// ---- its values, a copy, deletion

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  problem(form);
  const said = form.querySelector("[data-said]");
  try {
    put(await ask("PUT", `jams/${id}`, readForm(form)));
    said.textContent = "Saved.";
  } catch (error) {
    said.textContent = "";
    if (!(error instanceof Refused && problem(form, error.body.field, error.message))) trouble(byId("trouble"), error.message);
  }
});
form.addEventListener("input", () => (form.querySelector("[data-said]").textContent = ""));

byId("copy").addEventListener("click", () => {
  const week = new Date(`${jam.local}Z`);
  week.setUTCDate(week.getUTCDate() + 7);
  const date = el("input", { type: "datetime-local", class: "line", value: week.toISOString().slice(0, 16) });
  const said = el("p", { class: "problem", role: "alert" });
  const copy = async () => {
    try {
      const made = await ask("POST", `jams/${id}/copies`, { at: date.value });
      location.href = `/jams/${made.id}`;
    } catch (error) {
      said.textContent = error.message;
    }
  };
  into(byId("undo"), el("div", { class: "notice" }, el("label", {}, "When is the next one? ", date), said,
    el("div", { class: "row" }, el("button", { type: "button", class: "key", onclick: copy }, "Make the copy"), el("button", { type: "button", class: "key", onclick: () => into(byId("undo")) }, "Leave it"))));
  date.focus();
});

byId("delete").addEventListener("click", async () => {
  try {
    await ask("DELETE", `jams/${id}`, {});
    const back = el("button", { type: "button", class: "key", onclick: async () => { put(await ask("POST", `jams/${id}/back`, {})); into(byId("undo")); } }, "Have it back");
    into(byId("undo"), el("div", { class: "notice" }, el("p", { role: "status" }, `${jam.name} is deleted.`), el("div", { class: "row" }, back, el("a", { class: "key", href: "/jams" }, "All jams"))));
    back.focus();
  } catch (error) {
    trouble(byId("undo"), error.message);
  }
});

byId("adding").addEventListener("toggle", () => byId("adding").open && putTunes());
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  toldOf = "";
  show();
});
show();
