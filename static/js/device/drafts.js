// What is being typed, kept on this device until the service has it.

import { LOCAL } from "./stored.js";

/** @type {(id: string) => string} */
const name = (id) => LOCAL.draft + id;

/**
 * The draft of this name, or null.
 * @template {object} D
 * @param {string} id
 * @returns {D | null}
 */
export function draftOf(id) {
  try {
    return JSON.parse(localStorage.getItem(name(id)) ?? "null");
  } catch {
    return null;
  }
}

/**
 * Keeps a draft; false if this device keeps nothing.
 * @type {(id: string, draft: object) => boolean}
 */
export function keepDraft(id, draft) {
  try {
    localStorage.setItem(name(id), JSON.stringify(draft));
    return true;
  } catch {
    return false;
  }
}

/** @type {(id: string) => void} */
export function dropDraft(id) {
  try {
    localStorage.removeItem(name(id));
  } catch {
    // Nothing is kept here, so there is nothing to drop.
  }
}

/**
 * The drafts whose names start so, the latest first: `[name, draft]` each.
 * @template {{ at: number }} D
 * @param {string} start
 * @returns {[string, D][]}
 */
export function draftsOf(start) {
  /** @type {[string, D][]} */
  const found = [];
  try {
    for (const key of Object.keys(localStorage)) {
      const id = key.slice(LOCAL.draft.length);
      const draft = key.startsWith(LOCAL.draft + start) ? /** @type {D | null} */ (draftOf(id)) : null;
      if (draft) found.push([id, draft]);
    }
  } catch {
    return [];
  }
  return found.sort(([, one], [, other]) => other.at - one.at);
}
