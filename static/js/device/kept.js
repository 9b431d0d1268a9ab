// What this device keeps: answers that the service has not acknowledged, and the session on the screen,
// so that a reload without a connection goes on where it was.

const NAME = "anchor-drill";
const ANSWERS = "answers";
const SESSIONS = "sessions";

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

/** Runs `work(store)` in one transaction and waits until it is on the disk. */
async function inside(name, mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(name, mode, { durability: "strict" });
    const request = work(transaction.objectStore(name));
    transaction.oncomplete = () => resolve(request?.result);
    transaction.onerror = transaction.onabort = () => reject(transaction.error);
  });
}

export const answers = () => inside(ANSWERS, "readonly", (store) => store.getAll());
export const keepAnswer = (answer) => inside(ANSWERS, "readwrite", (store) => store.put(answer));
export const dropAnswer = (id) => inside(ANSWERS, "readwrite", (store) => store.delete(id));

/** The session this device had on the screen last, or undefined. */
export const session = async () => (await inside(SESSIONS, "readonly", (store) => store.getAll()))[0];

/** Keeps a session, and only this one. */
export const keepSession = (current) =>
  inside(SESSIONS, "readwrite", (store) => {
    store.clear();
    store.put(current);
  });

/** This tab holds the session, so the drill page need not ask for it. */
export const holdHere = (current) => keepSession(current).then(() => sessionStorage.setItem("holds", current.id), () => {});

export const dropSession = () => inside(SESSIONS, "readwrite", (store) => void store.clear());

/** Visible seconds of a session, as far as this device has counted them. */
export const seen = (id) => Number(localStorage.getItem(`seen:${id}`)) || 0;

/** Keeps the visible seconds of one session; written at once, because a closing page has no time to wait. */
export function keepSeen(id, seconds) {
  for (const name of Object.keys(localStorage)) if (name.startsWith("seen:") && name !== `seen:${id}`) localStorage.removeItem(name);
  localStorage.setItem(`seen:${id}`, seconds.toFixed(1));
}
