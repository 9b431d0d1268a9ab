// The editor of a tune: its text as it is typed, read along by the service; what was said beside it; its draft.

import { all, byId, control, el, into, trouble, within } from "../lib/dom.js";
import { keepDraft } from "../device/drafts.js";
import { ask, messageOf, Refused, reviewId, tabId } from "../device/service.js";
import { showReading } from "./howread.js";
import { inBase64 } from "./uploading.js";
import { _ } from "../lib/words.js";

/**
 * What is kept of a tune that is typed.
 * @typedef {object} Draft
 * @property {string} title
 * @property {string} text
 * @property {Api.Options} options
 * @property {boolean} titled whether the title was typed
 * @property {string | null} changed_at
 * @property {string} id of a tune that is new
 * @property {number} at
 */

const PAUSE = 250; // ms without a key before the text is read
const LATER = 4000; // ms until a service that does not answer is asked again
const LINE_ENDS = /\r\n|[\n\v\f\r\x1c-\x1e\x85\u2028\u2029]/g; // what the service counts as lines
const BESIDE = /** @type {const} */ (["tempo", "feel", "capo", "capo_chords"]);

/** A notice with what can be done about it; whatever is done, it goes. @type {(says: string, ...ways: [string, () => unknown][]) => HTMLElement} */
export function notice(says, ...ways) {
  const buttons = ways.map(([words, act]) => el("button", { type: "button", class: "key", onclick: () => { into(byId("draft")); act(); } }, words));
  return el("div", { class: "notice" }, el("p", { role: "status" }, says), el("div", { class: "row tight" }, buttons));
}

export class Editor {
  form = byId("tune", HTMLFormElement);
  text = control(this.form, "text", HTMLTextAreaElement);
  title = control(this.form, "title");
  id = this.form.dataset.tune ?? "";
  newId = reviewId();
  /** @type {string | null} */ changedAt = null;
  unsaved = false;
  /** Whether the title was typed. */ titled = false;
  /** How the text is to be read. @type {Api.Options} */ #options = {};
  /** Tempo, feel, capo where the player said them. @type {Api.Options} */ #beside = {};
  /** @type {Api.Reading | null} */ #found = null;
  #latest = 0;
  /** @type {ReturnType<typeof setTimeout> | undefined} */ #waiting;

  /** Where drafts of this tune are kept. */
  get place() {
    return `tune:${this.id || "new"}:`;
  }

  get body() {
    return { title: this.title.value, text: this.text.value, options: this.#options, ...this.#beside };
  }

  /** @returns {Draft} */
  get draft() {
    return { ...this.body, titled: this.titled, changed_at: this.changedAt, id: this.newId, at: Date.now() };
  }

  /** Puts a tune of the service or a draft into the editor. @type {(tune: Partial<Api.Tune> & Partial<Draft> & Api.Options | Partial<Draft>) => Promise<void>} */
  fill(tune) {
    const { chart, ...kept } = /** @type {Partial<Draft> & Api.Options & { chart?: Api.Chart }} */ (tune);
    this.title.value = kept.title ?? "";
    this.text.value = kept.text ?? "";
    this.#options = kept.options ?? {};
    // A tune of the service says the rest in its text; a draft says what was chosen beside it.
    this.#beside = {};
    for (const name of chart ? [] : BESIDE) if (kept[name] != null) this.#beside[name] = kept[name];
    this.titled = kept.titled ?? Boolean(kept.title);
    this.changedAt = kept.changed_at ?? null;
    if (!this.id && kept.id) this.newId = kept.id;
    this.unsaved = !chart;
    byId("saved").textContent = "";
    return this.read();
  }

  // ---- reading along

  changed() {
    this.keep();
    clearTimeout(this.#waiting);
    this.#waiting = setTimeout(() => this.read(), PAUSE);
  }

  keep() {
    this.unsaved = true;
    const kept = keepDraft(this.place + tabId(), this.draft);
    byId("saved").textContent = kept ? _("Not saved yet; kept on this device.") : _("Not saved yet.");
  }

  async read() {
    const mine = ++this.#latest;
    clearTimeout(this.#waiting);
    if (!this.text.value.trim()) {
      this.put(null);
      return;
    }
    try {
      /** @type {Api.Reading} */
      const reply = await ask("POST", "charts/read", this.body);
      if (mine === this.#latest) this.put(reply);
    } catch (error) {
      if (mine !== this.#latest) return;
      if (error instanceof Refused) {
        this.problem(error.body.field, messageOf(error));
        return;
      }
      trouble(byId("trouble"), _("{reason} What you type is kept on this device, and read when the service is back.", { reason: messageOf(error) }), () => this.read());
      this.#waiting = setTimeout(() => this.read(), LATER);
    }
  }

  /** Shows a reading, or that there is none yet. @type {(found: Api.Reading | null) => void} */
  put(found) {
    this.#found = found;
    this.problem();
    into(byId("trouble"));
    const { title } = this;
    if (!this.titled && document.activeElement !== title) title.value = found?.chart.title ?? "";
    byId("title-how").hidden = this.titled || !found?.chart.title || found.title_given;
    showReading(this.form, found, { ...this.#options, ...this.#beside }, {
      key: (key) => this.choose({ key }),
      place: (line, column, words) => this.#select(line, column, words),
      otherwise: (guess) => this.#otherwise(guess),
    });
  }

  /** Says a sentence at the field that is meant, or above if there is none. @type {(field?: string, sentence?: string) => void} */
  problem(field = "", sentence = "") {
    const name = field === "chart" || field === "options" ? "text" : field;
    const [wanted] = all(this.form, `[data-problem="${name}"]`);
    for (const place of all(this.form, "[data-problem]")) place.textContent = place === wanted ? sentence : "";
    if (sentence && !wanted) trouble(byId("trouble"), sentence);
  }

  /** @type {(values: Api.Options) => void} */
  choose(values) {
    this.#options = { ...this.#options, ...values };
    this.changed();
  }

  /** @type {(guess: Api.Guess) => void} */
  #otherwise(guess) {
    if (guess.option) {
      this.choose({ [guess.option[0]]: guess.option[1] });
      return;
    }
    this.#select(guess.line, guess.column, guess.text);
    // As if typed, so that the browser's own undo takes it back.
    if (!document.execCommand("insertText", false, guess.rewrite)) this.text.setRangeText(guess.rewrite);
    this.changed();
  }

  /** Selects a place in the text and brings it into sight. Columns are characters, of which some are two units long. @type {(line: number, column: number, words: string) => void} */
  #select(line, column, words) {
    const { text } = this;
    const starts = [0, ...[...text.value.matchAll(LINE_ENDS)].map((end) => end.index + end[0].length)];
    const from = starts[line - 1] ?? 0;
    const start = from + [...text.value.slice(from, starts[line])].slice(0, column - 1).join("").length;
    text.focus();
    text.setSelectionRange(start, start + words.length);
    text.scrollTop = Math.max(0, (line - 3) * (text.scrollHeight / starts.length));
  }

  // ---- what the player does

  /** Something was typed. @type {(name: string) => void} */
  typed(name) {
    if (name === "text") this.changed();
    if (name !== "title") return;
    this.titled = Boolean(this.title.value.trim());
    byId("title-how").hidden = this.titled;
    this.problem();
    this.keep();
  }

  /** Something was said beside the text. @type {(name: string, value: string | number | null) => void} */
  say(name, value) {
    const before = this.#beside.capo;
    this.#beside = { ...this.#beside, [name]: value };
    // A capo that takes the place of the text's own moves the hand; one that is new makes its chords shapes.
    if (name === "capo" && before == null) this.#beside.capo_chords = this.#found?.chart.capo ? "sounding" : "shapes";
    this.changed();
  }

  /** @type {(files: File[]) => Promise<void>} */
  async openFiles(files) {
    control(this.form, "file").value = "";
    if (files.length > 1) {
      this.problem("text", _("Here one chart is edited: bring several files in on the Tunes page."));
      return;
    }
    const [file] = files;
    try {
      /** @type {{ text: string }} */
      const opened = await ask("POST", "charts/file", { data: await inBase64(file) }, 30);
      const title = file.name.replace(/\.[^.]*$/, "").replaceAll("_", " ");
      this.#replaceBy(opened.text, title, _("{file} replaced what was here.", { file: file.name }));
    } catch (error) {
      this.problem("text", _("{file}: {reason}", { file: file.name, reason: messageOf(error) }));
    }
  }

  /** Puts a ready-made form in place of the text. */
  async useForm() {
    /** @type {(name: string) => string} */
    const value = (name) => control(this.form, name, HTMLSelectElement).value;
    const wanted = { form: value("form"), key: value("form-key"), feel: value("form-feel") || null };
    try {
      /** @type {{ text: string, title: string }} */
      const made = await ask("POST", "charts/form", wanted);
      this.#replaceBy(made.text, made.title, _("The form replaced what was here."));
      byId("forms", HTMLDetailsElement).open = false;
      this.text.focus();
    } catch (error) {
      trouble(byId("trouble"), messageOf(error));
    }
  }

  /** Puts another text in place of this one, which can be had back; a title that was typed stays. @type {(text: string, title: string, says: string) => void} */
  #replaceBy(text, title, says) {
    const before = this.draft;
    this.fill({ title: this.titled ? this.title.value : title, text, titled: true, changed_at: this.changedAt, id: this.newId });
    this.text.scrollTop = 0;
    this.keep();
    into(byId("draft"), before.text.trim() && notice(says, [_("Have it back"), () => { this.fill(before); this.keep(); }]));
  }

  /** Goes to a field, or to the text. @type {(name: string) => void} */
  focus(name) {
    (all(this.form, `[name="${CSS.escape(name)}"]`)[0] ?? within(this.form, "textarea")).focus();
  }
}
