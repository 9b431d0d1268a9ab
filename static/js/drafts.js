// What is being typed, kept on this device until the service has it.

const name = (id) => `draft:${id || "new"}`;

/** The draft of a tune (of a new one without an id), or null. */
export function draftOf(id) {
  try {
    return JSON.parse(localStorage.getItem(name(id)));
  } catch {
    return null;
  }
}

/** Keeps a draft; false if this device keeps nothing. */
export function keepDraft(id, draft) {
  try {
    localStorage.setItem(name(id), JSON.stringify(draft));
    return true;
  } catch {
    return false;
  }
}

export const dropDraft = (id) => localStorage.removeItem(name(id));
