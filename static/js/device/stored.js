// The names under which this device keeps things, all in one place.

/** In localStorage, kept over days; those that end in a colon are beginnings of names. */
export const LOCAL = {
  theme: "theme", // read by theme.js as well, which runs before any module
  click: "click", // whether the metronome sounds
  singleKeys: "single-keys", // whether single keys of the keyboard mean something
  warmedUp: "warmed-up", // the last day with a warm-up
  shown: "shown", // the question that was on the screen last
  seen: "seen:", // visible seconds, by session
  draft: "draft:", // what is typed and not saved
};

/** In sessionStorage, kept for one tab. */
export const TAB = {
  tab: "tab", // which tab this is
  holds: "holds", // the session that this tab holds
  mode: "mode", // how answers are given: by touch, mouse or keyboard
  draft: "draft", // what is put in of the question on the screen
  play: "play:", // what was marked in a tune, by tune
};

/** In IndexedDB: the database and its two stores. */
export const DATABASE = { name: "anchor-drill", answers: "answers", sessions: "sessions" };

/**
 * Lets a box on the page say whether single keys mean something, and keeps it.
 * @type {(box: HTMLInputElement) => void}
 */
export function keepSingleKeys(box) {
  box.checked = localStorage.getItem(LOCAL.singleKeys) !== "off";
  box.addEventListener("change", () => localStorage.setItem(LOCAL.singleKeys, box.checked ? "on" : "off"));
}

/** The player's day, which begins so many hours after midnight. @type {(dayStart: number) => string} */
const today = (dayStart) => new Date(Date.now() - dayStart * 3600e3).toDateString();

/** Whether the player has warmed up today. @type {(dayStart: number) => boolean} */
export const warmedUp = (dayStart) => localStorage.getItem(LOCAL.warmedUp) === today(dayStart);

/** The player has warmed up. @type {(dayStart: number) => void} */
export const keepWarmedUp = (dayStart) => localStorage.setItem(LOCAL.warmedUp, today(dayStart));
