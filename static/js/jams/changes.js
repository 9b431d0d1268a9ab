// Changes of a jam on their way to the service: shown at once, sent one after the other, put on top of what was
// changed elsewhere meanwhile, kept on this device while the service is away.

import { draftOf, dropDraft, keepDraft } from "../device/drafts.js";
import { ask, Refused } from "../device/service.js";

const TRIES = 5; // so often a change is put on top of a set list that was changed elsewhere

/**
 * The set list with a change in it. Changes name entries, not places, so they suit a newer list as well.
 * @type {(entries: Api.Entry[], change: Jams.Change) => Api.Entry[]}
 */
function arranged(entries, change) {
  if (change.kind === "value") return entries;
  const others = entries.filter((each) => each.id !== change.id);
  /** @type {(list: Api.Entry[]) => number} */
  const before = (list) => {
    const at = list.findIndex((each) => each.id === change.before);
    return at < 0 ? list.length : at;
  };
  if (change.kind === "add") {
    const there = new Set(entries.map((each) => each.id));
    return entries.toSpliced(before(entries), 0, ...change.entries.filter((each) => !there.has(each.id)));
  }
  if (change.kind === "move") return others.toSpliced(before(others), 0, ...entries.filter((each) => each.id === change.id));
  if (change.kind === "off") return others;
  return entries.map((each) => (each.id === change.id ? { ...each, ...change.values } : each));
}

/** @type {(jam: Api.Jam, change: Jams.Change) => Api.Jam} */
function applied(jam, change) {
  if (change.kind !== "value") return { ...jam, entries: arranged(jam.entries, change) };
  return { ...jam, [change.name === "at" ? "local" : change.name]: change.value };
}

/**
 * What an entry of the set list looks like to the service: of one that is there, only what changes.
 * @type {(entry: Api.Entry, change: Jams.Change, there: Set<string>) => object}
 */
function sent(entry, change, there) {
  if (!there.has(entry.id)) return { id: entry.id, tune: entry.tune, key: entry.key, tempo: entry.tempo };
  return change.kind === "call" && entry.id === change.id ? { id: entry.id, ...change.values } : { id: entry.id };
}

/**
 * @typedef {object} Does
 * @property {(jam: Api.Jam) => void} show shows a state
 * @property {(change: Jams.Change, error: Refused) => void} refused tells that the service will not have a change
 * @property {(error: unknown) => void} away tells that it does not answer
 * @property {(taken: boolean) => void} done tells that nothing waits any more, and whether everything was taken
 * @property {() => void} merged tells that a change was put on top of others
 */

export class Changes {
  /** @type {string} */ #id;
  /** @type {Does} */ #does;
  /** @type {Api.Jam | null} */ #kept = null;
  /** @type {Jams.Change[]} */ #waiting = [];
  #sending = false;

  /**
   * @param {string} id
   * @param {Does} does
   */
  constructor(id, does) {
    this.#id = id;
    this.#does = does;
  }

  /** The jam with everything that was changed here. */
  get jam() {
    if (!this.#kept) throw new Error("the jam is not there yet");
    return this.#waiting.reduce(applied, this.#kept);
  }

  get waiting() {
    return this.#waiting.length > 0;
  }

  /**
   * Takes the jam as the service has it; the first time also what could not be sent when the page was last here.
   * @type {(jam: Api.Jam) => void}
   */
  take(jam) {
    if (!this.#kept) this.#waiting = draftOf(`jam:${this.#id}`) ?? [];
    this.#kept = jam;
    this.#does.show(this.jam);
    if (this.waiting) this.send();
  }

  /** @type {(change: Jams.Change) => void} */
  make(change) {
    this.#waiting.push(change);
    this.#does.show(this.jam);
    this.send();
  }

  /** Sends what is waiting, oldest first. */
  async send() {
    if (this.#sending) return;
    this.#sending = true;
    let tries = 0;
    let taken = true;
    while (this.waiting) {
      const [change] = this.#waiting;
      try {
        this.#kept = await this.#put(change);
        tries = 0;
      } catch (error) {
        if (!(error instanceof Refused)) {
          keepDraft(`jam:${this.#id}`, this.#waiting);
          this.#sending = false;
          this.#does.away(error);
          return;
        }
        const now = error.body.jam;
        this.#kept = now ?? this.#kept;
        if (now && change.kind !== "value" && !now.past && !now.deleted && ++tries < TRIES) {
          this.#does.merged();
          continue;
        }
        taken = false;
        this.#waiting.shift();
        this.#does.show(this.jam);
        this.#does.refused(change, error);
        continue;
      }
      this.#waiting.shift();
      this.#does.show(this.jam);
    }
    dropDraft(`jam:${this.#id}`);
    this.#sending = false;
    this.#does.done(taken);
  }

  /** @type {(change: Jams.Change) => Promise<Api.Jam>} */
  #put(change) {
    if (change.kind === "value") return ask("PUT", `jams/${this.#id}`, { [change.name]: change.value, was: { [change.name]: change.was } });
    const entries = this.#kept?.entries ?? [];
    const there = new Set(entries.map((each) => each.id));
    const wanted = arranged(entries, change).map((each) => sent(each, change, there));
    return ask("PUT", `jams/${this.#id}/set-list`, { was: [...there], entries: wanted });
  }
}
