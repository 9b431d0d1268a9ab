// The Neck page: any key and box with its chords, and the smoothest way through a progression, to look at.

import { all, byId, control, drawing, el, inputOf, into, listed, say, trouble, where, within } from "../lib/dom.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf, Refused } from "../device/service.js";

const choice = byId("choice", HTMLFormElement);
const shown = byId("shown");
let latest = 0;

/** @type {() => Record<string, string>} */
const chosen = () => Object.fromEntries(["key", "box", "chords", "progression"].map((name) => [name, String(new FormData(choice).get(name)).trim()]));

/**
 * What of a choice stands in an address; a progression only if there is one.
 * @type {(wanted: Record<string, string>) => URLSearchParams}
 */
const inAddress = (wanted) => new URLSearchParams(Object.entries(wanted).filter(([, value]) => value !== ""));

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
    else if (name === "progression") control(choice, "progression").value = value;
  }
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
const neckOf = ({ key, box, chords, progression }) =>
  ask("GET", `neck?${inAddress({ key, box, chords: chords === "small" ? chords : "", progression })}`);

/**
 * The neck with its way; a progression that cannot be read or played is said beside its field, and the rest stands.
 * @type {(wanted: Record<string, string>) => Promise<{ neck: Api.Neck, problem: string }>}
 */
async function read(wanted) {
  try {
    return { neck: await neckOf(wanted), problem: "" };
  } catch (error) {
    if (!(error instanceof Refused) || !wanted.progression) throw error;
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
  const title = where(neck.key, neck.box);
  const blues = neck.chords.length === 0; // It has its three sevenths only, and no choice of chords.
  const list = blues || chords === "sevenths" ? neck.sevenths : neck.chords;
  const small = chords === "small" && !blues;
  into(shown,
    ...(neck.route.length ? [way(neck)] : []),
    el("section", { class: "region-shown", "aria-labelledby": "region-title" },
      el("h2", { id: "region-title" }, title),
      el("p", { class: "quiet" }, `${neck.title}.`),
      guitar(neck),
      drawing(neck.drawing, "drawing")),
    el("section", { "aria-label": `The chords of ${neck.key}` },
      small ? neck.small.flatMap(smallOf) : el("ul", { class: "cards diagrams" }, list.map((chord) => one(chord, neck)))),
  );
  const count = small ? `small voicings of ${neck.small.length} chords` : `${list.length} chords`;
  say(neck.route.length ? `${title}: the way through ${neck.route.length} chords.` : `${title}: ${count}.`);
}

/**
 * What is not plain about the guitar: tuning and capo, with the key's sounding and fretted names.
 * @type {(neck: Api.Neck) => Dom.Child}
 */
function guitar({ tuning, capo, key, fretted }) {
  const capoWords = capo > 0 && `capo ${capo}: sounding ${key}, fretted ${fretted}; frets count from the capo`;
  const words = listed("; ", tuning !== "standard" && `tuning ${tuning}`, capoWords);
  return words && el("p", {}, `${words[0].toUpperCase()}${words.slice(1)}.`);
}

/** @type {(chord: Api.NeckChord, neck: Api.Neck) => HTMLElement} */
function one(chord, { capo }) {
  const shape = chord.shapes.length > 0 && `shape ${chord.shapes.join(" or ")}`;
  return el("li", { class: "card" },
    el("h3", {}, el("span", { class: "number" }, chord.number), " ", chord.chord),
    el("p", { class: "quiet" }, listed(" · ", chord.numeral, shape, capo > 0 && `fretted ${chord.fretted}`)),
    diagram(chord));
}

/**
 * A chord's small voicings: on which strings, what is lowest, and what it is without the tone left out.
 * @type {(chord: Api.Neck["small"][number]) => Dom.Child[]}
 */
function smallOf({ number, numeral, chord, voicings }) {
  return [
    el("h3", { class: "of-chord" }, el("span", { class: "number" }, number), " ", chord, " ", el("span", { class: "quiet" }, numeral)),
    voicings.length === 0 && el("p", { class: "quiet" }, "No small voicing here on this guitar."),
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
    chord.wide && el("p", { class: "wide-stretch" }, "wide stretch"),
    drawing(chord.drawing),
    el("details", { class: "more" }, el("summary", {}, "in words"), el("p", { class: "quiet" }, chord.description)),
  ];
}

/** @type {(neck: Api.Neck) => HTMLElement} */
function way(neck) {
  const total = neck.route.reduce((sum, step) => sum + step.travel_mm, 0);
  return el("section", { class: "way-shown", "aria-labelledby": "way-title" },
    el("h2", { id: "way-title" }, "The smoothest way"),
    el("p", { class: "quiet" }, `In ${where(neck.key, neck.box)}, the fingers travel ${total} mm in all.`),
    el("ol", { class: "cards diagrams" }, neck.route.map((step, index) =>
      el("li", { class: "card" },
        el("h3", {}, el("span", { class: "number" }, step.numeral), " ", step.chord),
        el("p", { class: "quiet" }, index === 0 ? "from here" : `${step.travel_mm} mm from the last`),
        diagram(step)))));
}

choice.addEventListener("change", (event) => {
  const target = inputOf(event);
  if (target.name === "mode") changeMode(target.value);
  history.replaceState(null, "", `?${inAddress(chosen())}`);
  show();
});
choice.addEventListener("submit", (event) => {
  event.preventDefault();
  control(choice, "progression").blur(); // A change is shown by the field's own change.
});
fromAddress();
choice.inert = false;
startSending();
show();
