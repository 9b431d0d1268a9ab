// The service worker. It does one thing: when the service cannot be reached, a session that is under way can
// still be reloaded. While the service answers, nothing comes from here, so nothing here can be out of date.
// The drill page and everything it loads are kept as one set, taken together and replaced together.

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
/** @type {Set<string>} */
const reloaded = new Set(); // the pages that were opened from the kept set; only these get files from it

async function keepSet() {
  const page = await fetch("/session", { cache: "no-cache" });
  if (!page.ok) return;
  const addresses = [...(await page.clone().text()).matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map((found) => found[1]);
  const files = await Promise.all(addresses.map((address) => fetch(address, { cache: "no-cache" })));
  if (files.some((file) => !file.ok)) return;
  const name = `session ${Date.now()}`;
  const set = await caches.open(name);
  await set.put("/session", page);
  await Promise.all(files.map((file, at) => set.put(addresses[at], file)));
  await Promise.all((await caches.keys()).filter((each) => each !== name).map((each) => caches.delete(each)));
}

/** @type {(address: string) => Promise<Response | undefined>} */
const kept = (address) => caches.match(address, { ignoreVary: true });

/** @type {(event: FetchEvent) => Promise<Response>} */
async function open(event) {
  try {
    return await fetch(event.request);
  } catch (error) {
    const page = await kept("/session");
    if (!page) throw error;
    reloaded.add(event.resultingClientId);
    return page;
  }
}

worker.addEventListener("install", (event) => event.waitUntil(keepSet().then(() => worker.skipWaiting())));
worker.addEventListener("message", (event) => event.waitUntil(keepSet().catch(() => {})));
worker.addEventListener("fetch", (event) => {
  const { method, mode, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method !== "GET" || origin !== location.origin) return;
  if (mode === "navigate" && pathname === "/session") event.respondWith(open(event));
  else if (reloaded.has(event.clientId) && pathname.startsWith("/static/")) {
    event.respondWith(kept(pathname).then((file) => file ?? Response.error()));
  }
});
