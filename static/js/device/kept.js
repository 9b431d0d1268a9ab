// What this device keeps: answers that the service has not acknowledged, and the session on the screen,
// so that a reload without a connection goes on where it was.

import { DATABASE, LOCAL, TAB } from "./stored.js";

const { name: NAME, answers: ANSWERS, sessions: SESSIONS } = DATABASE;

/** @type {Promise<IDBDatabase> | null} */
let opened = null;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore(ANSWERS, { keyPath: "id" });
      request.result.createObjectStore(SESSIONS, { keyPath: "id" });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  return opened;
}

/**
 * Runs `work(store)` in one transaction and waits until it is on the disk.
 * @template T
 * @param {string} name
 * @param {IDBTransactionMode} mode
 * @param {(store: IDBObjectStore) => IDBRequest<T> | void} work
 * @returns {Promise<T>}
 */
async function inside(name, mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(name, mode, { durability: "strict" });
    const request = work(transaction.objectStore(name));
    transaction.oncomplete = () => resolve(/** @type {T} */ (request?.result));
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

/** @type {() => Promise<Kept.Entry[]>} */
export const answers = () => inside(ANSWERS, "readonly", (store) => store.getAll());
/** @type {(answer: Kept.Entry) => Promise<unknown>} */
export const keepAnswer = (answer) => inside(ANSWERS, "readwrite", (store) => store.put(answer));
/** @type {(id: string) => Promise<unknown>} */
export const dropAnswer = (id) => inside(ANSWERS, "readwrite", (store) => store.delete(id));

/**
 * The session this device had on the screen last, or undefined.
 * @type {() => Promise<Api.Session | undefined>}
 */
export const session = async () => (await inside(SESSIONS, "readonly", (store) => store.getAll()))[0];

/**
 * Keeps a session, and only this one.
 * @type {(current: Api.Session) => Promise<unknown>}
 */
export const keepSession = (current) =>
  inside(SESSIONS, "readwrite", (store) => {
    store.clear();
    store.put(current);
  });

/**
 * This tab holds the session, so the drill page need not ask for it.
 * @type {(current: Api.Session) => Promise<void>}
 */
export const holdHere = (current) => keepSession(current).then(() => sessionStorage.setItem(TAB.holds, current.id), () => {});

/** @type {() => Promise<unknown>} */
export const dropSession = () => inside(SESSIONS, "readwrite", (store) => void store.clear());

/**
 * Visible seconds of a session, as far as this device has counted them.
 * @type {(id: string) => number}
 */
export const seen = (id) => Number(localStorage.getItem(LOCAL.seen + id)) || 0;

/**
 * Keeps the visible seconds of one session; written at once, because a closing page has no time to wait.
 * @type {(id: string, seconds: number) => void}
 */
export function keepSeen(id, seconds) {
  for (const name of Object.keys(localStorage)) if (name.startsWith(LOCAL.seen) && name !== LOCAL.seen + id) localStorage.removeItem(name);
  localStorage.setItem(LOCAL.seen + id, seconds.toFixed(1));
}
