// The rows of a set list: each a tune with the key called that night and its own tempo. A row is made once and
// then only changed, so that what is being typed and the focus stay.

import { el, into } from "../lib/dom.js";
import { _, ngettext } from "../lib/words.js";

class Row {
  /**
   * `does` says what a row can do: `step(id, by)`, `off(id)`, `call(id, values)`.
   * @param {string} id
   * @param {HTMLElement} jam whose data say which jam it is, and the slowest and fastest tempo
   * @param {Jams.Row} does
   */
  constructor(id, jam, does) {
    this.jam = jam;
    this.title = el("a");
    this.words = el("p", { class: "quiet chords-of" });
    this.handle = el("button", { type: "button", class: "handle key" }, "⠿");
    /** @type {HTMLSelectElement} */
    this.key = el("select", { onchange: () => does.call(id, { key: this.key.value || null }) });
    this.tempo = el("input", { type: "number", class: "line", inputmode: "numeric", min: jam.dataset.slowest, max: jam.dataset.fastest, onchange: () => this.#setTempo(id, does) });
    this.problem = el("p", { class: "problem", role: "alert" });
    /** @type {(by: number, arrow: string) => HTMLButtonElement} */
    const step = (by, arrow) => el("button", { type: "button", class: "key small", onclick: () => does.step(id, by) }, arrow);
    this.up = step(-1, "↑");
    this.down = step(1, "↓");
    this.play = el("a", { class: "key small" }, _("Play"));
    this.off = el("button", { type: "button", class: "key small", onclick: () => does.off(id) }, _("Off"));
    this.called = el("div", { class: "called-as" }, el("label", {}, _("Key"), this.key), el("label", {}, _("Tempo"), this.tempo), this.problem);
    this.element = el("li", { "data-entry": id }, this.handle,
      el("div", { class: "played-as" }, this.title, this.words), this.called,
      el("div", { class: "row tight" }, this.up, this.down, this.play, this.off));
    this.choices = "";
  }

  /** @type {(id: string, does: Jams.Row) => void} */
  #setTempo(id, does) {
    this.says("");
    if (this.tempo.validity.badInput) this.says(_("A tempo is a number, from {slowest} to {fastest}.", { slowest: this.tempo.min, fastest: this.tempo.max }));
    else does.call(id, { tempo: this.tempo.value === "" ? null : Number(this.tempo.value) });
  }

  /**
   * What is wrong with the tempo, which stays as it was typed until it is another one.
   * @type {(sentence: string) => void}
   */
  says(sentence) {
    this.problem.textContent = sentence;
    this.tempo.setAttribute("aria-invalid", String(Boolean(sentence)));
  }

  /** @type {(entry: Api.Entry, at: { first: boolean, last: boolean, open: boolean, keys: Record<string, string[]> }) => void} */
  put(entry, { first, last, open, keys }) {
    const { title } = entry;
    this.title.textContent = title;
    this.title.href = `/tunes/${entry.tune}`;
    const as = open ? [entry.key && _("written in {key}", { key: entry.own_key })] : [entry.plays_in, _("{tempo} bpm", { tempo: entry.plays_at })];
    this.words.textContent = [entry.deleted && _("deleted from your tunes, still played here"), ...as, entry.bars && ngettext("{count} bar", "{count} bars", entry.bars), entry.capo && _("capo {fret}", { fret: entry.capo }), entry.chords.join(" ")].filter(Boolean).join(" · ");
    this.play.href = `/tunes/${entry.tune}/play?jam=${this.jam.dataset.jam}&entry=${entry.id}`;
    /** @type {[HTMLElement, string][]} */
    const names = [
      [this.handle, _("Move {title}: drag it, or press Alt and an arrow key", { title })], [this.key, _("Key of {title} that night", { title })], [this.tempo, _("Tempo of {title} that night", { title })],
      [this.up, _("{title} up", { title })], [this.down, _("{title} down", { title })], [this.play, _("Play along with {title}", { title })], [this.off, _("Take {title} off the list", { title })],
    ];
    for (const [control, name] of names) control.setAttribute("aria-label", name);
    this.up.setAttribute("aria-disabled", String(first));
    this.down.setAttribute("aria-disabled", String(last));
    for (const control of [this.handle, this.called, this.up, this.down, this.off]) control.hidden = !open;
    if (!this.problem.textContent && document.activeElement !== this.tempo) this.tempo.value = String(entry.tempo ?? "");
    this.tempo.placeholder = String(entry.plays_at ?? "");
    this.#offer(entry, keys[entry.mode ?? ""] ?? []);
    this.key.value = entry.key ?? "";
  }

  /** @type {(entry: Api.Entry, keys: string[]) => void} */
  #offer(entry, keys) {
    const choices = JSON.stringify([entry.own_key, entry.calls, keys]);
    if (choices === this.choices) return;
    this.choices = choices;
    /** @type {(key: string, words?: string) => HTMLOptionElement} */
    const option = (key, words = key) => el("option", { value: key }, words);
    into(this.key, option("", _("{key}, its own key", { key: entry.own_key })),
      el("optgroup", { label: _("Moved from its own key") }, entry.calls.map(({ key, says }) => option(key, _("{key}, {move}", { key, move: says })))),
      el("optgroup", { label: _("Any key") }, keys.map((key) => option(key))));
  }
}

/** The set list as a list of rows. */
export class SetList {
  /** @type {Map<string, Row>} */ #rows = new Map();

  /**
   * @param {HTMLElement} jam whose data say which jam it is, and the slowest and fastest tempo
   * @param {Jams.Row} does
   */
  constructor(jam, does) {
    this.element = el("ol", { class: "set-list" });
    this.jam = jam;
    this.does = does;
  }

  /** @type {(id: string) => Row | undefined} */
  row(id) {
    return this.#rows.get(id);
  }

  /**
   * Shows the entries of a jam; `still` leaves the order on the page alone, as while a row is dragged.
   * @type {(jam: Api.Jam, still: boolean) => void}
   */
  put({ entries, keys, past }, still) {
    for (const id of [...this.#rows.keys()].filter((known) => !entries.some((entry) => entry.id === known))) {
      this.#rows.get(id)?.element.remove();
      this.#rows.delete(id);
    }
    entries.forEach((entry, at) => {
      const row = this.#rows.get(entry.id) ?? new Row(entry.id, this.jam, this.does);
      this.#rows.set(entry.id, row);
      row.put(entry, { first: at === 0, last: at === entries.length - 1, open: !past, keys });
    });
    if (!still) this.#order(entries.flatMap((entry) => this.#rows.get(entry.id)?.element ?? []));
  }

  /** @type {(rows: HTMLElement[]) => void} */
  #order(rows) {
    const focused = document.activeElement;
    let next = this.element.firstElementChild;
    for (const row of rows) {
      if (row === next) next = next.nextElementSibling;
      else this.element.insertBefore(row, next);
    }
    if (focused instanceof HTMLElement && this.element.contains(focused)) focused.focus({ preventScroll: true });
  }
}
