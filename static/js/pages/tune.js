// The editor of a tune: what is typed is read along by the service, and kept on this device until it is saved.

import { byId, el, into, say, trouble } from "../lib/dom.js";
import { draftOf, draftsOf, dropDraft, keepDraft } from "../device/drafts.js";
import { showReading } from "../tunes/howread.js";
import { ask, onDoubled, Refused, reviewId, tabId } from "../device/service.js";
import { inBase64 } from "../tunes/uploading.js";

const PAUSE = 250; // ms without a key before the text is read
const LATER = 4000; // ms until a service that does not answer is asked again
const LINE_ENDS = /\r\n|[\n\v\f\r\x1c-\x1e\x85\u2028\u2029]/g; // what the service counts as lines
const BESIDE = ["tempo", "feel", "capo", "capo_chords"];
const form = byId("tune");
const text = form.elements.text;
let id = form.dataset.tune;
let newId = reviewId();
let changedAt = null;
let options = {}; // how the text is to be read
let beside = {}; // tempo, feel, capo where the player said them
let titled = false; // whether the title was typed
let unsaved = false;
let saving = false;
let found = null;
let latest = 0;
let waiting = null;

const place = () => `tune:${id || "new"}:`;
const body = () => ({ title: form.elements.title.value, text: text.value, options, ...beside });
const draft = () => ({ ...body(), titled, changed_at: changedAt, id: newId, at: Date.now() });

// ---- reading along

function changed() {
  keep();
  clearTimeout(waiting);
  waiting = setTimeout(read, PAUSE);
}

function keep() {
  unsaved = true;
  const kept = keepDraft(place() + tabId(), draft());
  byId("saved").textContent = kept ? "Not saved yet; kept on this device." : "Not saved yet.";
}

async function read() {
  const mine = ++latest;
  clearTimeout(waiting);
  if (!text.value.trim()) return put(null);
  try {
    const reply = await ask("POST", "charts/read", body());
    if (mine === latest) put(reply);
  } catch (error) {
    if (mine !== latest) return undefined;
    if (error instanceof Refused) return problem(error.body.field, error.message);
    trouble(byId("trouble"), `${error.message} What you type is kept on this device, and read when the service is back.`, read);
    waiting = setTimeout(read, LATER);
  }
  return undefined;
}

function put(reply) {
  found = reply;
  problem();
  into(byId("trouble"));
  const { title } = form.elements;
  if (!titled && document.activeElement !== title) title.value = found?.chart.title ?? "";
  byId("title-how").hidden = titled || !found?.chart.title || found.title_given;
  showReading(form, found, { ...options, ...beside }, { key: (key) => choose({ key }), place: select, otherwise });
}

/** Says a sentence at the field that is meant, or above if there is none. */
function problem(field, sentence = "") {
  const wanted = form.querySelector(`[data-problem="${{ chart: "text", options: "text" }[field] ?? field}"]`);
  for (const each of form.querySelectorAll("[data-problem]")) each.textContent = each === wanted ? sentence : "";
  if (sentence && !wanted) trouble(byId("trouble"), sentence);
}

function choose(values) {
  options = { ...options, ...values };
  changed();
}

function otherwise(guess) {
  if (guess.option) return choose({ [guess.option[0]]: guess.option[1] });
  select(guess.line, guess.column, guess.text);
  // As if typed, so that the browser's own undo takes it back.
  if (!document.execCommand("insertText", false, guess.rewrite)) text.setRangeText(guess.rewrite);
  return changed();
}

/** Selects a place in the text and brings it into sight. Columns are characters, of which some are two units long. */
function select(line, column, words) {
  const starts = [0, ...[...text.value.matchAll(LINE_ENDS)].map((end) => end.index + end[0].length)];
  const from = starts[line - 1] ?? 0;
  const start = from + [...text.value.slice(from, starts[line])].slice(0, column - 1).join("").length;
  text.focus();
  text.setSelectionRange(start, start + words.length);
  text.scrollTop = Math.max(0, (line - 3) * (text.scrollHeight / starts.length));
}

// ---- what the player does

form.addEventListener("input", ({ target }) => {
  if (target.name === "text") changed();
  if (target.name !== "title") return;
  titled = Boolean(target.value.trim());
  byId("title-how").hidden = titled;
  problem();
  keep();
});
form.addEventListener("change", ({ target }) => {
  const { name, value } = target;
  if (["key", "time", "names", "slash", "minor_from"].includes(name)) choose({ [name]: value || null });
  else if (name === "tempo" || name === "capo") sayBeside(name, value === "" ? null : Number(value));
  else if (name === "feel" || name === "capo_chords") sayBeside(name, value || null);
  else if (name === "file") openFiles([...target.files]);
});
addEventListener("dragover", (event) => [...event.dataTransfer.types].includes("Files") && event.preventDefault());
addEventListener("drop", (event) => {
  if (!event.dataTransfer.files.length) return;
  event.preventDefault();
  openFiles([...event.dataTransfer.files]);
});

function sayBeside(name, value) {
  const before = beside.capo;
  beside = { ...beside, [name]: value };
  // A capo that takes the place of the text's own moves the hand; one that is new makes its chords shapes.
  if (name === "capo" && before == null) beside.capo_chords = found?.chart.capo ? "sounding" : "shapes";
  changed();
}

async function openFiles(files) {
  form.elements.file.value = "";
  if (files.length > 1) return problem("text", "Here one chart is edited: bring several files in on the Tunes page.");
  const [file] = files;
  try {
    const opened = await ask("POST", "charts/file", { data: await inBase64(file) }, 30);
    const title = file.name.replace(/\.[^.]*$/, "").replaceAll("_", " ");
    replaceBy(opened.text, titled ? form.elements.title.value : title, `${file.name} took the place of what was here.`);
  } catch (error) {
    problem("text", `${file.name}: ${error.message}`);
  }
  return undefined;
}

byId("use-form").addEventListener("click", async () => {
  const wanted = { form: form.elements.form.value, key: form.elements["form-key"].value, feel: form.elements["form-feel"].value || null };
  try {
    const made = await ask("POST", "charts/form", wanted);
    replaceBy(made.text, titled ? form.elements.title.value : made.title, "The form took the place of what was here.");
    byId("forms").open = false;
    text.focus();
  } catch (error) {
    trouble(byId("trouble"), error.message);
  }
});

/** Puts another text in place of this one, which can be had back. */
function replaceBy(content, title, says) {
  const before = draft();
  fill({ title, text: content, titled: true, changed_at: changedAt, id: newId });
  text.scrollTop = 0;
  keep();
  into(byId("draft"), before.text.trim() && notice(says, ["Have it back", () => { fill(before); keep(); }]));
}

/** A notice with what can be done about it; whatever is done, it goes. */
function notice(says, ...ways) {
  const buttons = ways.map(([words, act]) => el("button", { type: "button", class: "key", onclick: () => { into(byId("draft")); act(); } }, words));
  return el("div", { class: "notice" }, el("p", { role: "status" }, says), el("div", { class: "row tight" }, buttons));
}

// ---- saving

form.addEventListener("submit", (event) => {
  event.preventDefault();
  save();
});

async function save() {
  if (saving) return;
  saving = true;
  problem();
  const sent = body();
  try {
    const saved = id ? await ask("PUT", `tunes/${id}`, { ...sent, changed_at: changedAt }) : await ask("POST", "tunes", { ...sent, id: newId });
    dropDraft(place() + tabId());
    id = saved.id;
    history.replaceState(null, "", `/tunes/${id}${location.search}`);
    changedAt = saved.changed_at;
    titled = true;
    unsaved = false;
    into(byId("draft"));
    into(byId("trouble"));
    byId("title-how").hidden = true;
    shown();
    byId("saved").textContent = "Saved.";
    if (JSON.stringify(sent) !== JSON.stringify(body())) keep(); // Typed on meanwhile.
    else backToJam();
  } catch (error) {
    refused(error);
  } finally {
    saving = false;
  }
}

function refused(error) {
  if (error instanceof Refused && error.status === 409) return elsewhere(error.body.tune);
  if (!(error instanceof Refused)) return trouble(byId("trouble"), `${error.message} What you typed is kept on this device.`, save);
  problem(error.body.field, error.message);
  return (form.elements.namedItem(error.body.field) ?? text).focus();
}

/** The tune was changed in another tab or on another device: both are there until the player chooses. */
function elsewhere(theirs) {
  const mine = draft();
  // A new tune may be saved already, by another tab that went on with it.
  const over = () => {
    dropDraft(place() + tabId());
    id = theirs.id;
    history.replaceState(null, "", `/tunes/${id}${location.search}`);
    shown();
  };
  const here = ["Save mine over it", () => { over(); changedAt = theirs.changed_at; keep(); save(); }];
  const both = ["Keep both", () => asNew()];
  const other = ["Take the other", () => {
    over();
    fill(theirs);
    into(byId("draft"), notice("This is how it was changed elsewhere.", ["Have mine back", () => { fill({ ...mine, changed_at: theirs.changed_at }); keep(); }]));
  }];
  into(byId("draft"), notice("This tune was changed elsewhere since you opened it. Yours is still here; both can be kept.", both, here, other));
  byId("draft").querySelector("button").focus();
}

/** Saves what is here as a tune of its own. */
function asNew() {
  dropDraft(place() + tabId());
  id = "";
  changedAt = null;
  newId = reviewId();
  keep();
  return save();
}

function backToJam() {
  const jam = new URLSearchParams(location.search).get("jam");
  if (jam && /^[0-9a-f]{32}$/.test(jam)) location.href = `/jams/${jam}?add=${id}`;
}

// ---- the beginning

function shown() {
  byId("heading").textContent = id ? "Tune" : "New tune";
  into(byId("links"), id && el("a", { class: "key", href: `/tunes/${id}/play` }, "Play along"), id && el("a", { class: "key", href: `/tunes/${id}/sheet` }, "Sheet"));
}

/** Puts a tune of the service or a draft into the editor. */
function fill(tune) {
  form.elements.title.value = tune.title ?? "";
  text.value = tune.text ?? "";
  options = tune.options ?? {};
  // A tune of the service says the rest in its text; a draft says what was chosen beside it.
  beside = {};
  for (const name of tune.chart ? [] : BESIDE) if (tune[name] != null) beside[name] = tune[name];
  titled = tune.titled ?? Boolean(tune.title);
  changedAt = tune.changed_at ?? null;
  if (!id && tune.id) newId = tune.id;
  unsaved = !tune.chart;
  byId("saved").textContent = "";
  return read();
}

async function open() {
  const mine = draftOf(place() + tabId());
  try {
    const kept = id ? await ask("GET", `tunes/${id}`) : null;
    into(byId("trouble"));
    if (mine) {
      await fill(mine);
      keep();
      into(byId("draft"), notice(`Not saved yet: what you typed here ${when(mine)}.`, ["Throw it away", () => throwAway(kept)]));
    } else if (kept) await fill(kept);
    else put(null);
    if (kept?.deleted) into(byId("draft"), notice("This tune is deleted. Saving it has it back.", ["Have it back", haveBack]));
    else if (!mine) offer();
    shown();
  } catch (error) {
    if (mine) await fill(mine);
    else if (error instanceof Refused) form.hidden = true;
    trouble(byId("trouble"), error.message, error instanceof Refused ? null : open);
    if (form.hidden) byId("trouble").firstChild.append(el("a", { class: "key", href: "/tunes" }, "Tunes"));
    if (!mine) return;
  }
  form.inert = false; // Until here, what is typed would be lost.
}

const when = ({ at }) => `on ${new Date(at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" })}`;

function throwAway(kept) {
  dropDraft(place() + tabId());
  newId = reviewId();
  fill(kept ?? {});
  unsaved = false;
  say("Thrown away.");
}

async function haveBack() {
  try {
    await ask("POST", `tunes/${id}/back`, {});
    say("The tune is back.");
  } catch (error) {
    trouble(byId("draft"), error.message, haveBack);
  }
}

/** What another tab has not saved, or one that is closed. */
function offer() {
  const [name, other] = draftsOf(place()).find(([, each]) => each.text.trim() || each.title) ?? [];
  if (!name) return;
  const words = `“${other.title || other.text.trim().slice(0, 30)}” was typed in another tab ${when(other)} and is not saved.`;
  into(byId("draft"), notice(words, ["Go on with it here", () => { fill(other); keep(); dropDraft(name); }], ["Throw it away", () => dropDraft(name)]));
}

onDoubled(() => unsaved && keep());
document.addEventListener("visibilitychange", async () => {
  if (document.hidden || !id || saving || !changedAt) return;
  const theirs = await ask("GET", `tunes/${id}`).catch(() => null);
  if (!theirs || theirs.changed_at === changedAt) return;
  if (unsaved) elsewhere(theirs);
  else fill(theirs);
});
open();
