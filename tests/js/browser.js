// As much of a browser as modules without a page need: storage, a clock, and a document that can be hidden.

class Storage {
  #kept = new Map();
  getItem = (name) => this.#kept.get(name) ?? null;
  setItem = (name, value) => void this.#kept.set(name, String(value));
  removeItem = (name) => void this.#kept.delete(name);
}

globalThis.localStorage = new Storage();
globalThis.sessionStorage = new Storage();

export const page = Object.assign(new EventTarget(), { hidden: false, documentElement: { lang: "en" } });
globalThis.document = page;
globalThis.addEventListener = () => {};
globalThis.requestAnimationFrame = (painted) => void queueMicrotask(painted);

/** Hides the page, or shows it again. */
export function hide(hidden) {
  page.hidden = hidden;
  page.dispatchEvent(new Event("visibilitychange"));
}

/** Lets the clock stand at so many milliseconds. */
export function stand(at) {
  globalThis.performance.now = () => at;
}

/** Lets everything run that waits for nothing but its turn. */
export const settle = () => new Promise((resolve) => setTimeout(resolve, 5));
