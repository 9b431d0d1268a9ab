// How a text was read, beside it: the key, what could not be read, what was guessed, what the player may say.

import { chartView, chartWords } from "./chartview.js";
import { all, byId, control, el, into, within } from "../lib/dom.js";
import { _, ngettext, nameOf } from "../lib/words.js";

const NOTHING = _("What you type is read here as bars of degrees.");

/**
 * @typedef {object} Taps
 * @property {(key: string) => void} key
 * @property {(line: number, column: number, text: string) => void} place
 * @property {(guess: Api.Guess) => void} otherwise
 */

/**
 * Shows a reading, or that there is none yet. `chosen` is what the player said beside the text; `on.key(key)`,
 * `on.place(line, column, length)` and `on.otherwise(guess)` are what can be tapped.
 * @type {(form: HTMLFormElement, found: Api.Reading | null, chosen: Api.Options, on: Taps) => void}
 */
export function showReading(form, found, chosen, on) {
  for (const id of ["keys", "beside", "how"]) byId(id).hidden = !found;
  const held = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.again;
  if (!found) {
    for (const id of ["unread", "guesses", "chart"]) into(byId(id));
    byId("capo-chords").hidden = true;
    byId("counted").textContent = NOTHING;
    return;
  }
  const { chart } = found;
  const read = found.tokens - found.unread.length;
  byId("counted").textContent = found.tokens
    ? ngettext("{read} of {count} chord read. {chart}", "{read} of {count} chords read. {chart}", found.tokens, { read, chart: chartWords(chart) })
    : _("No chord yet.");
  showUnread(found.unread, on);
  showKeys(form, found, chosen, on);
  into(byId("chart"), chartView(chart));
  showBeside(form, found, chosen);
  showGuesses(found, on);
  showHow(form, found, chosen);
  if (held) (all(form, `[data-again="${CSS.escape(held)}"]`)[0] ?? within(byId("how"), "summary")).focus();
}

/**
 * A button that is made anew with every reading; the focus stays on it by its name.
 * @type {(name: string, act: () => unknown, ...words: string[]) => HTMLButtonElement}
 */
const again = (name, act, ...words) => el("button", { type: "button", class: "key small", "data-again": name, onclick: act }, words);

/** @type {(unread: Api.Reading["unread"], on: Taps) => void} */
function showUnread(unread, on) {
  into(byId("unread"), unread.length > 0 && el("div", { class: "notice" },
    el("p", {}, ngettext("{count} place could not be read. The rest works without it.", "{count} places could not be read. The rest works without them.", unread.length)),
    el("ul", { class: "chips" }, unread.map(({ line, column, text }) =>
      el("li", {}, again(`unread ${line} ${column}`, () => on.place(line, column, text), _("line {line}, column {column}: {text}", { line, column, text })))))));
}

/** @type {(form: HTMLFormElement, found: Api.Reading, chosen: Api.Options, on: Taps) => void} */
function showKeys(form, found, chosen, on) {
  const fits = [...found.keys].sort((one, other) => other.confidence - one.confidence);
  into(byId("best"), fits.map((fit) => {
    const button = again(`key ${fit.key}`, () => on.key(fit.key), _("{key}, explains {percent} %", { key: fit.key, percent: Math.round(100 * fit.share) }));
    button.setAttribute("aria-pressed", String(fit.key === found.chart.key));
    return button;
  }));
  const select = control(form, "key", HTMLSelectElement);
  const wanted = String(chosen.key ?? "");
  if (![...select.options].some((option) => option.value === wanted)) select.append(el("option", {}, wanted));
  select.value = wanted;
}

/** @type {(form: HTMLFormElement, found: Api.Reading, chosen: Api.Options) => void} */
function showBeside(form, { chart, options }, chosen) {
  const tempo = control(form, "tempo");
  if (document.activeElement !== tempo) tempo.value = chart.tempo ? String(Math.round(chart.tempo)) : "";
  choice(control(form, "time", HTMLSelectElement), chosen.time, chart.time, "4/4");
  choice(control(form, "feel", HTMLSelectElement), chosen.feel, chart.feel && nameOf(chart.feel), _("none"));
  choice(control(form, "capo", HTMLSelectElement), chosen.capo, chart.capo || null, _("none"));
  byId("capo-chords").hidden = !chosen.capo || !options.names;
  for (const radio of all(form, "[name=capo_chords]", HTMLInputElement)) radio.checked = radio.value === chosen.capo_chords;
}

/**
 * A select whose first option is what the text has.
 * @type {(select: HTMLSelectElement, chosen: Api.Options[string], value: Api.Options[string], none: string) => void}
 */
function choice(select, chosen, value, none) {
  select.options[0].textContent = chosen != null ? _("as written") : value == null ? none : _("{value}, as written", { value });
  select.value = String(chosen ?? "");
}

/** @type {(found: Api.Reading, on: Taps) => void} */
function showGuesses({ guesses, assumptions }, on) {
  const items = guesses.map((guess, number) => {
    const way = guess.option || guess.rewrite;
    const name = guess.option ? `guess ${guess.option[0]} ${guess.line ?? ""}` : `guess ${guess.line} ${guess.column}`;
    const button = way && again(name, () => on.otherwise(guess), guess.option ? _("Read it the other way") : _("Write {text}", { text: guess.rewrite }));
    if (button) button.setAttribute("aria-describedby", `guess-${number}`);
    return el("li", {}, el("span", { id: `guess-${number}` }, guess.line ? _("Line {line}: {sentence}", { line: guess.line, sentence: guess.says }) : guess.says), button);
  });
  into(byId("guesses"), items, assumptions.map((said) => el("li", {}, said)));
}

/** @type {(form: HTMLFormElement, found: Api.Reading, chosen: Api.Options) => void} */
function showHow(form, { chart, options }, chosen) {
  const relevant = { names: options.names, slash: options.names, minor_from: chart.minor };
  for (const [name, wanted] of Object.entries(relevant)) {
    const select = control(form, name, HTMLSelectElement);
    const label = select.closest("label");
    if (label) label.hidden = !wanted;
    select.value = String(chosen[name] ?? "");
  }
  byId("how").hidden = !Object.values(relevant).some(Boolean);
}
