// The tunes: a list, files brought in, deletion that can be taken back.

import { byId, count, el, into, say, trouble } from "./dom.js";
import { ask } from "./service.js";
import { bring } from "./uploading.js";

const MANY = 12; // from so many tunes on there is a field to find one
const list = byId("list");
const find = byId("find");
const form = byId("bring");
let tunes = [];

async function show() {
  try {
    ({ tunes } = await ask("GET", "tunes"));
    byId("trouble").replaceChildren();
    put();
  } catch (error) {
    into(list);
    trouble(byId("trouble"), error.message, show);
  }
  list.removeAttribute("aria-busy");
}

function put() {
  find.hidden = tunes.length < MANY;
  const wanted = find.hidden ? "" : find.querySelector("input").value.trim().toLocaleLowerCase();
  const shown = tunes.filter((tune) => tune.title.toLocaleLowerCase().includes(wanted));
  if (!tunes.length) {
    into(list, el("p", {}, "Here will be the tunes of your band, each with its key and chart. Type one in, bring files, or start from a ready-made form: a 12-bar blues, a two-chord vamp."));
  } else if (!shown.length) {
    into(list, el("p", {}, `No tune is called “${wanted}”.`));
  } else {
    into(list, el("ul", { class: "tunes" }, shown.map(row)));
  }
}

function row(tune) {
  const words = [tune.key, tune.tempo && `${Math.round(tune.tempo)} bpm`, tune.feel, count(tune.bars, "bar"), tune.capo && `capo ${tune.capo}`];
  return el("li", {},
    el("div", {},
      el("a", { href: `/tunes/${tune.id}` }, tune.title),
      el("p", { class: "quiet" }, words.filter(Boolean).join(" · ")),
      el("p", { class: "quiet chords-of" }, tune.chords.join(" "))),
    el("div", { class: "row tight" },
      el("a", { class: "key small", href: `/tunes/${tune.id}/play` , "aria-label": `Play along with ${tune.title}` }, "Play"),
      el("a", { class: "key small", href: `/tunes/${tune.id}/sheet`, "aria-label": `Sheet of ${tune.title}` }, "Sheet"),
      el("button", { type: "button", class: "key small", "aria-label": `Delete ${tune.title}`, onclick: () => remove(tune) }, "Delete")));
}

async function remove(tune) {
  try {
    await ask("DELETE", `tunes/${tune.id}`, {});
    await show();
    const back = el("button", { type: "button", class: "key", onclick: () => haveBack(tune) }, "Have it back");
    into(byId("undo"), el("div", { class: "notice" }, el("p", { role: "status" }, `${tune.title} is deleted.`), back));
    back.focus();
  } catch (error) {
    trouble(byId("undo"), error.message, () => remove(tune));
  }
}

async function haveBack(tune) {
  try {
    await ask("POST", `tunes/${tune.id}/back`, {});
    into(byId("undo"));
    await show();
    say(`${tune.title} is back.`);
  } catch (error) {
    trouble(byId("undo"), error.message, () => haveBack(tune));
  }
}

async function takeIn(files) {
  const said = byId("bring-said");
  const made = [];
  const results = el("ul", { class: "results" });
  for (const [number, file] of files.entries()) {
    into(said, el("p", {}, `Reading ${number + 1} of ${files.length}: ${file.name}`), el("progress", { max: files.length, value: number, "aria-label": "Files read" }), results);
    for (const each of await bring(file)) {
      if (each.tune) made.push(each.tune);
      results.append(result(each));
    }
  }
  const undo = made.length ? el("button", { type: "button", class: "key", onclick: () => takeBack(made) }, `Take ${made.length === 1 ? "it" : "them"} out again`) : null;
  into(said, el("p", {}, `${count(made.length, "tune")} brought in.`), results, undo);
  await show();
}

function result(each) {
  if (!each.tune) {
    return el("li", {}, el("strong", {}, each.name), ` not taken: ${each.refused}`,
      each.again && el("button", { type: "button", class: "key small", onclick: () => takeIn([each.again]) }, "Try again"));
  }
  const read = each.unread ? `, ${each.tokens - each.unread} of ${each.tokens} chords read` : `, all ${each.tokens} chords read`;
  return el("li", {}, el("a", { href: `/tunes/${each.tune.id}` }, each.tune.title), `: ${each.tune.key} (${each.key_given ? "given" : "found"})${read}`);
}

async function takeBack(made) {
  try {
    for (const tune of made) await ask("DELETE", `tunes/${tune.id}`, {});
    into(byId("bring-said"), el("p", {}, "Taken out again."));
  } catch (error) {
    trouble(byId("bring-said"), error.message, () => takeBack(made));
  }
  await show();
}

form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("change", () => {
  const files = [...form.elements.files.files];
  form.reset();
  if (files.length) takeIn(files);
});
addEventListener("dragover", (event) => {
  if (![...event.dataTransfer.types].includes("Files")) return;
  event.preventDefault();
  form.classList.add("over");
});
addEventListener("dragleave", (event) => event.relatedTarget ?? form.classList.remove("over"));
addEventListener("drop", (event) => {
  form.classList.remove("over");
  const files = [...event.dataTransfer.files];
  if (!files.length) return;
  event.preventDefault();
  takeIn(files);
});
find.addEventListener("input", put);
show();
