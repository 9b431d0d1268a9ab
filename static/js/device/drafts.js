// What is being typed, kept on this device until the service has it.

const PREFIX = "draft:";
const name = (id) => PREFIX + id;

/** The draft of this name, or null. */
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

export function dropDraft(id) {
  try {
    localStorage.removeItem(name(id));
  } catch {
    // Nothing is kept here, so there is nothing to drop.
  }
}

/** The drafts whose names start so, the latest first: `[name, draft]` each. */
export function draftsOf(start) {
  const found = [];
  try {
    for (const key of Object.keys(localStorage)) {
      if (key.startsWith(PREFIX + start)) found.push([key.slice(PREFIX.length), draftOf(key.slice(PREFIX.length))]);
    }
  } catch {
    return [];
  }
  return found.filter(([, draft]) => draft).sort(([, one], [, other]) => other.at - one.at);
}
