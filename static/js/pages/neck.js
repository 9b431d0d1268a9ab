// The Neck page: any key and box with its chords, and the way through a progression, to look at.

import { all, byId, control, drawing, el, inputOf, into, listed, say, trouble, where, within } from "../lib/dom.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf, Refused } from "../device/service.js";
import { _, ngettext, sayChoice, nameOf } from "../lib/words.js";

const choice = byId("choice", HTMLFormElement);
const shown = byId("shown");
let latest = 0;

/** How the way is found: without a progression there is none. */
const OF_THE_WAY = ["manner", "lead", "keep", "slash"];

/** @type {() => Record<string, string>} */
const chosen = () =>
  Object.fromEntries(["key", "box", "chords", "progression", ...OF_THE_WAY].map((name) => [name, String(new FormData(choice).get(name)).trim()]));

/**
 * What of a choice stands in an address: what is not empty, and how the way is found only if there is a progression.
 * @type {(wanted: Record<string, string>) => URLSearchParams}
 */
const inAddress = (wanted) =>
  new URLSearchParams(Object.entries(wanted).filter(([name, value]) => value !== "" && (wanted.progression || !OF_THE_WAY.includes(name))));

/**
 * The keys of one mode, in the order of their signatures: the same place is the relative key, or the same tonic.
 * @type {(mode: string) => HTMLInputElement[]}
 */
const keysOf = (mode) => all(choice, `[data-mode="${mode}"] input`, HTMLInputElement);

const chosenKey = () => within(choice, "[name=key]:checked", HTMLInputElement);

/** The mode of a key's input. @type {(key: HTMLInputElement) => string} */
const modeOf = (key) => /** @type {HTMLElement | null} */ (key.closest("[data-mode]"))?.dataset.mode ?? "";

/** Takes the choice from the address, so that a page can be kept and sent. */
function fromAddress() {
  for (const [name, value] of new URLSearchParams(location.search)) {
    const [input] = all(choice, `[name="${CSS.escape(name)}"][value="${CSS.escape(value)}"]`, HTMLInputElement);
    if (input) input.checked = true;
    else if (["progression", "keep", "slash"].includes(name)) control(choice, name).value = value;
  }
  byId("open-place").hidden = !within(choice, "[name=box][value=open]", HTMLInputElement).checked;
  const mode = modeOf(chosenKey());
  within(choice, `[name=mode][value=${mode}]`, HTMLInputElement).checked = true;
  showMode(mode);
}

/** @type {(mode: string) => void} */
function showMode(mode) {
  for (const keys of all(choice, "[data-mode]")) keys.hidden = keys.dataset.mode !== mode;
  byId("chords").hidden = mode === "blues"; // A blues has its three sevenths only.
}

/**
 * Another mode: the key at the same place of its row.
 * @type {(mode: string) => void}
 */
function changeMode(mode) {
  const before = chosenKey();
  const place = keysOf(modeOf(before)).indexOf(before);
  keysOf(mode)[place].checked = true;
  showMode(mode);
}

/** @type {(wanted: Record<string, string>) => Promise<Api.Neck>} */
const neckOf = (wanted) => ask("GET", `neck?${inAddress({ ...wanted, chords: wanted.chords === "small" ? "small" : "" })}`);

/**
 * The neck with its way; a progression that cannot be read or played is said beside its field, and the rest stands.
 * @type {(wanted: Record<string, string>) => Promise<{ neck: Api.Neck, problem: string }>}
 */
async function read(wanted) {
  try {
    return { neck: await neckOf(wanted), problem: "" };
  } catch (error) {
    if (!(error instanceof Refused)) throw error;
    // The open position was chosen in another key, and this one has none.
    if (wanted.box === "open") return read({ ...wanted, box: "1" });
    if (!wanted.progression) throw error;
    return { neck: await neckOf({ ...wanted, progression: "" }), problem: messageOf(error) };
  }
}

async function show() {
  const mine = ++latest;
  const wanted = chosen();
  try {
    const { neck, problem } = await read(wanted);
    if (mine !== latest) return;
    byId("trouble").replaceChildren();
    byId("progression-problem").textContent = problem;
    control(choice, "progression").setAttribute("aria-invalid", String(problem !== ""));
    put(neck, wanted.chords);
  } catch (error) {
    if (mine !== latest) return;
    shown.replaceChildren();
    trouble(byId("trouble"), messageOf(error), show);
  }
  shown.removeAttribute("aria-busy");
}

/** @type {(neck: Api.Neck, chords: string) => void} */
function put(neck, chords) {
  byId("open-place").hidden = !neck.has_open;
  within(choice, `[name=box][value="${neck.box || "open"}"]`, HTMLInputElement).checked = true;
  const title = where(neck.key, neck.box);
  const blues = neck.chords.length === 0; // It has its three sevenths only, and no choice of chords.
  const list = blues || chords === "sevenths" ? neck.sevenths : neck.chords;
  const small = chords === "small" && !blues;
  into(shown,
    neck.way && way(neck, neck.way),
    el("section", { class: "region-shown", "aria-labelledby": "region-title" },
      el("h2", { id: "region-title" }, title),
      el("p", { class: "quiet" }, `${neck.title}.`),
      guitar(neck),
      drawing(neck.drawing, "drawing")),
    el("section", { "aria-label": _("The chords of {key}", { key: neck.key }) },
      small ? neck.small.flatMap(smallOf) : el("ul", { class: "cards diagrams" }, list.map((chord) => one(chord, neck)))),
  );
  if (neck.route.length) say(ngettext("{place}: the way through {count} chord.", "{place}: the way through {count} chords.", neck.route.length, { place: title }));
  else if (small) say(ngettext("{place}: small voicings of {count} chord.", "{place}: small voicings of {count} chords.", neck.small.length, { place: title }));
  else say(ngettext("{place}: {count} chord.", "{place}: {count} chords.", list.length, { place: title }));
}

/**
 * What is not plain about the guitar: tuning and capo, with the key's sounding and fretted names.
 * @type {(neck: Api.Neck) => Dom.Child}
 */
function guitar({ tuning, capo, key, fretted }) {
  const words = listed(" ", tuning !== "standard" && _("Tuning {tuning}.", { tuning: nameOf(tuning) }),
    capo > 0 && _("Capo {capo}: sounding {key}, fretted {fretted}. Frets count from the capo.", { capo, key, fretted }));
  return words && el("p", {}, words);
}

/** @type {(chord: Api.NeckChord, neck: Api.Neck) => HTMLElement} */
function one(chord, { capo }) {
  const shape = chord.shapes.length > 0 && _("shape {shapes}", { shapes: sayChoice(chord.shapes) });
  return el("li", { class: "card" },
    el("h3", {}, el("span", { class: "number" }, chord.number), " ", chord.chord),
    el("p", { class: "quiet" }, listed(" · ", chord.numeral, shape, capo > 0 && _("fretted {chord}", { chord: chord.fretted }))),
    grip(chord),
    pinning(chord),
    chord.staying && el("div", { class: "staying" }, grip(chord.staying), pinning(chord.staying)),
    chord.others.length > 0 && el("details", { class: "more" }, el("summary", {}, _("other grips")),
      chord.others.map((other) => el("div", {}, grip(other), pinning(other)))));
}

/**
 * The button that lets a grip be shown first, or no longer.
 * @type {(held: Api.Grip) => Dom.Child}
 */
function pinning({ pin, pinned }) {
  if (!pin) return false;
  const label = pinned ? _("Unpin") : _("Show this grip first");
  return el("button", { type: "button", class: "key small", onclick: () => keepPin(pinned ? "DELETE" : "PUT", pin) }, label);
}

/** @type {(method: string, pin: string) => Promise<void>} */
async function keepPin(method, pin) {
  try {
    await ask(method, "pins", { pin });
    await show();
  } catch (error) {
    trouble(byId("trouble"), messageOf(error), () => keepPin(method, pin));
  }
}

/**
 * A drawing under what its grip is called and where the index finger is.
 * @type {(held: Api.Grip) => Dom.Child[]}
 */
const grip = (held) => [held.told.length > 0 && el("p", { class: "quiet told" }, held.told.join(" · ")), ...[diagram(held)].flat()];

/**
 * A chord's small voicings: on which strings, what is lowest, and what it is without the tone left out.
 * @type {(chord: Api.Neck["small"][number]) => Dom.Child[]}
 */
function smallOf({ number, numeral, chord, description, voicings }) {
  return [
    el("h3", { class: "of-chord" }, el("span", { class: "number" }, number), " ", chord, " ", el("span", { class: "quiet" }, numeral)),
    description && el("p", { class: "quiet" }, `${description}.`),
    el("ul", { class: "cards diagrams" }, voicings.map((each) =>
      el("li", { class: "card" }, el("p", { class: "quiet" }, `${each.said}.`), diagram(each)))),
  ];
}

/**
 * The drawing, with the word where it is a wide stretch, and in words for who wants them.
 * @type {(chord: Api.Diagram) => Dom.Children}
 */
function diagram(chord) {
  if (!chord.drawing) return el("p", {}, `${chord.description}.`);
  return [
    chord.wide && el("p", { class: "wide-stretch" }, _("wide stretch")),
    drawing(chord.drawing),
    el("details", { class: "more" }, el("summary", {}, _("in words")), el("p", { class: "quiet" }, chord.description)),
  ];
}

/**
 * The way: what it is called, why it is good, what was taken for what, and its steps.
 * @type {(neck: Api.Neck, found: Api.Way) => HTMLElement}
 */
function way(neck, found) {
  return el("section", { class: "way-shown", "aria-labelledby": "way-title" },
    el("h2", { id: "way-title" }, found.called.replace(/\.$/, "")),
    el("p", {}, found.why.join(" ")),
    el("p", { class: "quiet" }, `${where(neck.key, neck.box)}. ${found.travel}`),
    neck.taken.map(({ says, slash, offer }) =>
      el("p", { class: "taken" }, says, " ", slash && el("button", { type: "button", class: "key small", onclick: () => takeSlash(slash) }, offer))),
    el("ol", { class: "cards diagrams" }, neck.route.map((step, index) =>
      el("li", { class: "card" },
        el("h3", {}, el("span", { class: "number" }, step.numeral), " ", step.chord),
        el("p", { class: "quiet" }, listed(" · ", index === 0 ? _("from here") : _("{distance} mm from the last", { distance: step.travel_mm }), step.pinned && _("your grip"))),
        diagram(step),
        el("p", { class: "quiet told" }, index === 0 ? step.told.join(" · ") : step.why.join(" "))))));
}

/** Takes what stands behind a slash the other way. @type {(slash: string) => void} */
function takeSlash(slash) {
  control(choice, "slash").value = slash;
  shownAnew();
  control(choice, "progression").focus(); // The button is gone.
}

/** Shows the choice, and keeps it in the address. */
function shownAnew() {
  history.replaceState(null, "", `?${inAddress(chosen())}`);
  show();
}

/**
 * Another manner leads as it is its own, unless the hand is to stay.
 * @type {(manner: HTMLInputElement) => void}
 */
function changeManner(manner) {
  const lead = within(choice, "[name=lead]:checked", HTMLInputElement).value === "hand" ? "hand" : manner.dataset.lead;
  within(choice, `[name=lead][value=${lead}]`, HTMLInputElement).checked = true;
}

choice.addEventListener("change", (event) => {
  const target = inputOf(event);
  if (target.name === "mode") changeMode(target.value);
  if (target.name === "manner") changeManner(target);
  if (target.name === "progression") control(choice, "slash").value = ""; // It was for another progression.
  shownAnew();
});
choice.addEventListener("submit", (event) => {
  event.preventDefault();
  if (document.activeElement instanceof HTMLInputElement) document.activeElement.blur(); // A change is shown by the field's own change.
});
fromAddress();
choice.inert = false;
startSending();
show();
