// @ts-check
// Words in the language of the page: sentences from the catalogue, lists, numbers and dates.
//
// A sentence in a script is English and is the key of the catalogue; names in braces are filled after it was looked up:
// `_("Key of {key}", { key: "E♭" })`. The catalogue of the page's language comes as JSON that a script makes
// (tests/catalogue.py); English needs none.

const language = document.documentElement.lang || "en";

/** The catalogue: a text for each sentence, or for what counts something a text for each kind of number.
 * @type {Record<string, string | Record<string, string>>} */
const catalogue = language === "en" ? {} : await fetched();

const plural = new Intl.PluralRules(language);
// English as the pages write it: the day before the month, 24 hours, no comma before "and".
const formats = language.startsWith("en") ? "en-GB" : language;
const lists = new Intl.ListFormat(formats, { type: "conjunction" });
const choices = new Intl.ListFormat(formats, { type: "disjunction" });

/** @returns {Promise<Record<string, string | Record<string, string>>>} */
async function fetched() {
  try {
    const answer = await fetch(new URL(`../../words/${language}.json`, import.meta.url));
    return answer.ok ? await answer.json() : {};
  } catch {
    return {}; // Without its catalogue the page speaks English.
  }
}

/** A sentence in the language of the page, its names filled.
 * @param {string} sentence
 * @param {Record<string, unknown>} [values]
 * @returns {string} */
export function _(sentence, values = {}) {
  const found = catalogue[sentence];
  return filled(typeof found === "string" ? found : sentence, values);
}

/** The sentence for `count` things, by the language's rule for plurals; `{count}` in it is filled too.
 * @param {string} one
 * @param {string} more
 * @param {number} count
 * @param {Record<string, unknown>} [values]
 * @returns {string} */
export function ngettext(one, more, count, values = {}) {
  const found = catalogue[one];
  const kinds = typeof found === "object" ? found : { one, other: more };
  // A catalogue knows the kinds of whole numbers only; any other is told by the last one.
  const text = kinds[plural.select(count)] ?? kinds.other ?? Object.values(kinds).at(-1) ?? more;
  return filled(text, { count, ...values });
}

/** Things one after the other: "A, B and C".
 * @param {string[]} words */
export const sayList = (words) => lists.format(words);

/** Things of which one is meant: "A, B or C".
 * @param {string[]} words */
export const sayChoice = (words) => choices.format(words);

/** A number with so many digits behind its decimal sign, without signs between thousands.
 * @param {number} value
 * @param {number} [digits] */
export const sayNumber = (value, digits = 0) =>
  new Intl.NumberFormat(formats, {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
    useGrouping: false,
  }).format(value);

/** A whole number with signs between thousands.
 * @param {number} value */
export const sayAmount = (value) => new Intl.NumberFormat(formats).format(value);

/** A date, as `options` of Intl.DateTimeFormat say.
 * @param {Date} value
 * @param {Intl.DateTimeFormatOptions} [options] */
export const sayDate = (value, options = { day: "numeric", month: "short" }) =>
  new Intl.DateTimeFormat(formats, options).format(value);

/** A sentence in pieces, with an element in the place of each name:
 * `nodesIn(_("{number} in {key}"), { number: el("strong", {}, "4"), key: "E♭" })`.
 * @param {string} sentence
 * @param {Record<string, Node | string>} nodes
 * @returns {(Node | string)[]} */
export const nodesIn = (sentence, nodes) => sentence.split(/\{(\w+)\}/).map((piece, at) => (at % 2 ? nodes[piece] : piece));

/** @param {string} text @param {Record<string, unknown>} values */
function filled(text, values) {
  return text.replace(/\{(\w+)\}/g, (name, key) => (key in values ? String(values[key]) : name));
}

/** What the service sends as a name and a page shows: outcomes, feels, tunings.
 * @type {Record<string, string>} */
const NAMES = {
  clean: _("clean"),
  late: _("late"),
  missed: _("missed"),
  "not judged yet": _("not judged yet"),
  straight: _("straight"),
  shuffle: _("shuffle"),
  standard: _("standard"),
  "drop D": _("drop D"),
  "half step down": _("half step down"),
  "whole step down": _("whole step down"),
  "double drop D": _("double drop D"),
  "open G": _("open G"),
  "open D": _("open D"),
  "open E": _("open E"),
  "open A": _("open A"),
};

/** A name that the service sends, in words; any other, such as the notes of a tuning, stays as it is.
 * @param {string} name
 * @returns {string} */
export const nameOf = (name) => NAMES[name] ?? name;
