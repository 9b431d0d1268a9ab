// The tunes: a list, files brought in, deletion that can be taken back.

import { deleting } from "../lib/deleting.js";
import { byId, control, el, into, listed, trouble, within } from "../lib/dom.js";
import { ask, messageOf } from "../device/service.js";
import { bring } from "../tunes/uploading.js";
import { _, ngettext, nameOf, nodesIn } from "../lib/words.js";

const MANY = 12; // from so many tunes on there is a field to find one
const list = byId("list");
const find = byId("find");
const form = byId("bring", HTMLFormElement);
/** @type {Api.Tune[]} */
let tunes = [];

const remove = deleting(() => show());

async function show() {
  try {
    /** @type {{ tunes: Api.Tune[] }} */
    const reply = await ask("GET", "tunes");
    ({ tunes } = reply);
    byId("trouble").replaceChildren();
    put();
  } catch (error) {
    into(list);
    trouble(byId("trouble"), messageOf(error), show);
  }
  list.removeAttribute("aria-busy");
}

function put() {
  find.hidden = tunes.length < MANY;
  const wanted = find.hidden ? "" : within(find, "input", HTMLInputElement).value.trim().toLocaleLowerCase();
  const shown = tunes.filter((tune) => tune.title.toLocaleLowerCase().includes(wanted));
  if (!tunes.length) {
    into(list, el("p", {}, _("The tunes of your band will stand here, each with its key and chart. Type one in, bring files, or start from a ready-made form: a 12-bar blues, a two-chord vamp.")));
  } else if (!shown.length) {
    into(list, el("p", {}, _("No tune is called “{name}”.", { name: wanted })));
  } else {
    into(list, el("ul", { class: "tunes" }, shown.map(row)));
  }
}

/** @type {(tune: Api.Tune) => HTMLElement} */
function row(tune) {
  const words = listed(" · ", tune.key, tune.tempo && _("{tempo} bpm", { tempo: Math.round(tune.tempo) }), tune.feel && nameOf(tune.feel), ngettext("{count} bar", "{count} bars", tune.bars), tune.capo > 0 && _("capo {fret}", { fret: tune.capo }));
  return el("li", {},
    el("div", {},
      el("a", { href: `/tunes/${tune.id}` }, tune.title),
      el("p", { class: "quiet" }, words),
      el("p", { class: "quiet chords-of" }, tune.chords.join(" ")),
      tune.jams.length > 0 && el("p", { class: "quiet in-jams" }, _("Jams:"), " ", tune.jams.flatMap((jam, at) => [at ? ", " : "", el("a", { href: `/jams/${jam.id}` }, jam.name)]))),
    el("div", { class: "row tight" },
      el("a", { class: "key small", href: `/tunes/${tune.id}/play` , "aria-label": _("Play along with {title}", { title: tune.title }) }, _("Play")),
      el("a", { class: "key small", href: `/tunes/${tune.id}/sheet`, "aria-label": _("Sheet of {title}", { title: tune.title }) }, _("Sheet")),
      el("button", { type: "button", class: "key small", "aria-label": _("Delete {name}", { name: tune.title }), onclick: () => remove(`tunes/${tune.id}`, tune.title) }, _("Delete"))));
}

/** @type {Promise<void>} */
let bringing = Promise.resolve();
/** @type {(files: File[]) => Promise<void>} */
const takeIn = (files) => (bringing = bringing.then(() => bringAll(files)));

/**
 * Brings files in one after the other, a line for each song.
 * @type {(files: File[]) => Promise<void>}
 */
async function bringAll(files) {
  /** @type {Api.Tune[]} */
  const made = [];
  const head = el("p");
  const bar = el("progress", { max: files.length, value: 0, "aria-label": _("Files read") });
  const results = el("ul", { class: "results" });
  const foot = el("div");
  into(byId("bring-said"), head, bar, results, foot);
  for (const [number, file] of files.entries()) {
    head.textContent = _("Reading {number} of {count}: {file}", { number: number + 1, count: files.length, file: file.name });
    await one(bring(file), (lines) => results.append(...lines));
    bar.value = number + 1;
  }
  bar.remove();
  await finish();

  /** @type {(brought: Promise<Api.Brought[]>, place: (lines: HTMLElement[]) => void) => Promise<void>} */
  async function one(brought, place) {
    const found = await brought;
    made.push(...found.flatMap((each) => each.tune ?? []));
    place(found.map(line));
  }

  /** @type {(brought: Api.Brought) => HTMLElement} */
  function line(each) {
    if (each.tune) return result(each);
    const again = each.again && el("button", { type: "button", class: "key small", onclick: () => retry() }, _("Try again"));
    const item = el("li", {}, nodesIn(_("{file} not taken: {reason}"), { file: el("strong", {}, each.name), reason: each.refused ?? "" }), " ", again);
    const retry = async () => {
      await one(each.again?.() ?? Promise.resolve([]), (lines) => item.replaceWith(...lines));
      await finish();
    };
    return item;
  }

  async function finish() {
    head.textContent = ngettext("{count} tune brought in.", "{count} tunes brought in.", made.length);
    into(foot, made.length > 0 && el("button", { type: "button", class: "key", onclick: () => takeBack(made) }, ngettext("Take it out again", "Take them out again", made.length)));
    await show();
  }
}

/** @type {(brought: Api.Brought) => HTMLElement} */
function result({ tune, tokens, unread, key_given, key_found }) {
  if (!tune) return el("li");
  const read = unread
    ? ngettext("{read} of {count} chord read", "{read} of {count} chords read", tokens ?? 0, { read: (tokens ?? 0) - unread })
    : ngettext("all {count} chord read", "all {count} chords read", tokens ?? 0);
  const key = key_given ? _("{key}, given", { key: tune.key }) : key_found ? _("{key}, found", { key: tune.key }) : _("no key given, shown in {key}", { key: tune.key });
  return el("li", {}, nodesIn(_("{title}: {key}; {chords}"), { title: el("a", { href: `/tunes/${tune.id}` }, tune.title), key, chords: read }));
}

/** @type {(made: Api.Tune[]) => Promise<void>} */
async function takeBack(made) {
  try {
    for (const tune of made) await ask("DELETE", `tunes/${tune.id}`, {});
    into(byId("bring-said"), el("p", {}, _("Taken out again.")));
  } catch (error) {
    trouble(byId("bring-said"), messageOf(error), () => takeBack(made));
  }
  await show();
}

form.inert = false;
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("change", () => {
  const files = [...control(form, "files").files ?? []];
  form.reset();
  if (files.length) takeIn(files);
});
addEventListener("dragover", (event) => {
  if (!event.dataTransfer?.types.includes("Files")) return;
  event.preventDefault();
  form.classList.add("over");
});
addEventListener("dragleave", (event) => event.relatedTarget ?? form.classList.remove("over"));
addEventListener("drop", (event) => {
  form.classList.remove("over");
  const files = [...event.dataTransfer?.files ?? []];
  if (!files.length) return;
  event.preventDefault();
  takeIn(files);
});
find.addEventListener("input", put);
show();
