// The editor of a tune: what is typed is read along by the service, and kept on this device until it is saved.

import { chartView, chartWords } from "./chartview.js";
import { byId, count, el, into, say, trouble } from "./dom.js";
import { draftOf, dropDraft, keepDraft } from "./drafts.js";
import { ask, Refused, reviewId } from "./service.js";
import { textOf } from "./uploading.js";

const PAUSE = 250; // ms without a key before the text is read
const form = byId("tune");
const text = form.elements.text;
let id = form.dataset.tune;
let newId = reviewId(); // what a new tune will be called, so that saving it twice is saving it once
let changedAt = null;
let options = {};
let chosen = {}; // tempo, feel, capo where the player set them
let latest = 0;
let waiting = null;
let titled = false; // whether the title was typed

const body = () => ({ title: form.elements.title.value, text: text.value, options, ...chosen });

// ---- reading along

function changed() {
  keep();
  clearTimeout(waiting);
  waiting = setTimeout(read, PAUSE);
}

function keep() {
  const kept = keepDraft(id, { ...body(), titled, new_id: newId, changed_at: changedAt, at: Date.now() });
  byId("saved").textContent = kept ? "Not saved yet; kept on this device." : "Not saved yet.";
}

async function read() {
  const mine = ++latest;
  byId("trouble").replaceChildren();
  if (!text.value.trim()) {
    put(null);
    return;
  }
  try {
    const found = await ask("POST", "charts/read", body());
    if (mine === latest) put(found);
  } catch (error) {
    if (mine !== latest) return;
    if (error instanceof Refused) problem(error.body.field ?? "text", error.message);
    else trouble(byId("trouble"), error.message, read);
  }
}

function problem(field, sentence = "") {
  for (const each of form.querySelectorAll("[data-problem]")) each.textContent = each.dataset.problem === field ? sentence : "";
  const place = form.querySelector(`[data-problem="${field}"]`);
  if (sentence && !place) trouble(byId("trouble"), sentence);
}

function put(found) {
  problem("");
  byId("keys").hidden = byId("said-of-it").hidden = !found;
  if (!found) {
    for (const name of ["unread", "guesses", "chart"]) into(byId(name));
    byId("counted").textContent = "What you type is read here as bars of degrees.";
    return;
  }
  const { chart } = found;
  const read = found.tokens - found.unread.length;
  byId("counted").textContent = found.tokens ? `${read} of ${count(found.tokens, "chord")} read. ${chartWords(chart)}` : "No chord yet.";
  if (!titled && chart.title) form.elements.title.value = chart.title;
  putKeys(found);
  form.elements.tempo.value = chart.tempo ? Math.round(chart.tempo) : "";
  form.elements.feel.value = chart.feel ?? "";
  form.elements.capo.value = chart.capo;
  putUnread(found.unread);
  putGuesses(found);
  into(byId("chart"), chartView(chart));
}

function putKeys(found) {
  const taken = found.chart.key;
  into(byId("best"), found.keys.map((fit) =>
    el("button", { type: "button", class: "key small", "aria-pressed": String(fit.key === taken), onclick: () => takeKey(fit.key) },
      `${fit.key}, explains ${Math.round(100 * fit.share)} %`)));
  form.elements.key.value = options.key ?? "";
}

function takeKey(key) {
  options = { ...options, key: key || null };
  changed();
}

function putUnread(unread) {
  into(byId("unread"), unread.length > 0 && el("div", { class: "notice" },
    el("p", {}, `${count(unread.length, "place")} could not be read; the rest works without.`),
    el("ul", { class: "chips" }, unread.map((each) => el("li", {},
      el("button", { type: "button", class: "key small", onclick: () => select(each.line, each.column, each.text.length) },
        `line ${each.line}: ${each.text}`))))));
}

function putGuesses({ guesses, assumptions }) {
  if (!guesses.length && !assumptions.length) return into(byId("guesses"));
  return into(byId("guesses"), el("ul", { class: "guesses" },
    guesses.map((guess) => el("li", {},
      el("span", {}, guess.line && `Line ${guess.line}: `, guess.says),
      (guess.option || guess.rewrite) && el("button", { type: "button", class: "key small", onclick: () => otherwise(guess) }, "Read it the other way"))),
    assumptions.map((said) => el("li", {}, said))));
}

function otherwise(guess) {
  if (guess.option) {
    options = { ...options, [guess.option[0]]: guess.option[1] };
    return changed();
  }
  select(guess.line, guess.column, guess.text.length);
  // As if typed, so that the browser's own undo takes it back.
  if (!document.execCommand("insertText", false, guess.rewrite)) text.setRangeText(guess.rewrite);
  return changed();
}

/** Selects a place in the text and brings it into sight. */
function select(line, column, length) {
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0) + column - 1;
  text.focus();
  text.setSelectionRange(start, start + length);
  text.scrollTop = Math.max(0, (line - 3) * (text.scrollHeight / Math.max(lines.length, 1)));
}

// ---- what the player does

form.addEventListener("input", (event) => {
  const { name, value } = event.target;
  if (name === "title") titled = Boolean(value.trim());
  if (name === "title" || name === "text") {
    if (name === "title") problem("");
    return name === "text" ? changed() : keep();
  }
  return undefined;
});
form.addEventListener("change", (event) => {
  const { name, value } = event.target;
  if (name === "key") takeKey(value);
  else if (name === "tempo") set({ tempo: value === "" ? null : Number(value) });
  else if (name === "feel") set({ feel: value || null });
  else if (name === "capo") set({ capo: Number(value) });
  else if (name === "file") openFile(event.target);
});

function set(values) {
  chosen = { ...chosen, ...values };
  changed();
}

async function openFile(input) {
  const file = input.files[0];
  input.value = "";
  if (!file) return;
  let content;
  try {
    content = await textOf(file);
  } catch (error) {
    return problem("text", `${file.name}: ${error.message}`);
  }
  if (!titled) {
    form.elements.title.value = file.name.replace(/\.[^.]*$/, "").replaceAll("_", " ");
    titled = true;
  }
  begin(content);
  return undefined;
}

function begin(content) {
  options = {};
  chosen = {};
  text.value = content;
  text.scrollTop = 0;
  changed();
}

byId("use-form").addEventListener("click", async () => {
  const wanted = { form: form.elements.form.value, key: form.elements["form-key"].value, feel: form.elements["form-feel"].value || null };
  const before = { content: text.value, options, chosen };
  try {
    const made = await ask("POST", "charts/form", wanted);
    if (!titled) form.elements.title.value = made.title;
    titled = true;
    begin(made.text);
    byId("forms").open = false;
    if (before.content.trim()) {
      into(byId("draft"), el("div", { class: "notice" }, el("p", { role: "status" }, "The form took the place of what was there."),
        el("button", { type: "button", class: "key", onclick: () => { begin(before.content); ({ options, chosen } = before); changed(); into(byId("draft")); } }, "Have it back")));
    }
    text.focus();
  } catch (error) {
    trouble(byId("trouble"), error.message);
  }
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  problem("");
  try {
    const saved = id ? await ask("PUT", `tunes/${id}`, { ...body(), changed_at: changedAt }) : await ask("POST", "tunes", { ...body(), id: newId });
    dropDraft(id);
    id = saved.id;
    history.replaceState(null, "", `/tunes/${id}${location.search}`);
    changedAt = saved.changed_at;
    byId("heading").textContent = "Tune";
    byId("saved").textContent = "Saved.";
    into(byId("draft"));
    links();
    backToJam();
  } catch (error) {
    if (error instanceof Refused && error.status === 409) return elsewhere(error.body.tune);
    if (error instanceof Refused && error.body.field) {
      problem(error.body.field === "chart" ? "text" : error.body.field, error.message);
      form.querySelector(error.body.field === "title" ? "[name=title]" : "[name=text]").focus();
    } else trouble(byId("trouble"), `${error.message} What you typed is kept here.`);
  }
  return undefined;
});

/** The tune was changed in another tab or on another device: both are kept until the player chooses. */
function elsewhere(theirs) {
  const mine = el("button", { type: "button", class: "key", onclick: () => { changedAt = theirs.changed_at; form.requestSubmit(); } }, "Keep what is here");
  const other = el("button", { type: "button", class: "key", onclick: () => { dropDraft(id); fill(theirs); into(byId("draft")); } }, "Take the other");
  into(byId("draft"), el("div", { class: "notice", role: "alert" }, el("p", {}, "This tune was changed elsewhere since you opened it. Nothing of yours is lost yet."), el("div", { class: "row" }, mine, other)));
  mine.focus();
}

function backToJam() {
  const jam = new URLSearchParams(location.search).get("jam");
  if (jam && /^[0-9a-f]{32}$/.test(jam)) location.href = `/jams/${jam}?add=${id}`;
}

// ---- the beginning

function links() {
  into(byId("links"), id && el("a", { class: "key", href: `/tunes/${id}/play` }, "Play along"), id && el("a", { class: "key", href: `/tunes/${id}/sheet` }, "Sheet"));
}

function fill(tune) {
  form.elements.title.value = tune.title ?? "";
  text.value = tune.text ?? "";
  options = tune.options ?? {};
  // A tune of the service says these in its text; a draft says what was chosen beside it.
  chosen = {};
  for (const name of tune.chart ? [] : ["tempo", "feel", "capo"]) if (tune[name] != null) chosen[name] = tune[name];
  titled = tune.titled ?? Boolean(tune.title);
  changedAt = tune.changed_at ?? null;
  newId = tune.new_id ?? newId;
  return read();
}

async function open() {
  const draft = draftOf(id);
  try {
    const kept = id ? await ask("GET", `tunes/${id}`) : null;
    if (kept) await fill(kept);
    else put(null);
    if (draft && (draft.text.trim() || draft.title)) {
      await fill(draft);
      offer(kept, draft);
    }
    links();
  } catch (error) {
    if (draft) await fill(draft);
    trouble(byId("trouble"), error.message, error instanceof Refused ? null : open);
  }
}

function offer(kept, draft) {
  const when = new Date(draft.at).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
  const away = el("button", { type: "button", class: "key", onclick: () => { dropDraft(id); into(byId("draft")); byId("saved").textContent = ""; fill(kept ?? {}); say("Thrown away."); } }, "Throw it away");
  into(byId("draft"), el("div", { class: "notice" }, el("p", {}, `Not saved yet: what you typed here on ${when}.`), away));
  byId("saved").textContent = "Not saved yet; kept on this device.";
}

open();
