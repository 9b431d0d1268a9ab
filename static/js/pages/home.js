// The first page: one tap starts a session, or goes on with the one that runs.

import { byId, control, el, into, steppers, suggestBreak, targetOf, trouble, within } from "../lib/dom.js";
import { fieldOf, fill, problem, read } from "../lib/fields.js";
import * as kept from "../device/kept.js";
import { startFor } from "../jams/readiness.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf, Refused, tabId } from "../device/service.js";
import { _, ngettext } from "../lib/words.js";


const start = byId("start", HTMLFormElement);
const fields = byId("fields", HTMLFormElement);
let first = false;
let touched = false; // whether one of the first questions was answered

async function show() {
  try {
    /** @type {Api.Player} */
    const player = await ask("GET", "player");
    byId("trouble").replaceChildren();
    control(start, "minutes").value = String(player.settings.minutes);
    showRunning(player.running);
    showToday(player);
    showJam(player.jam, player.running);
    if (player.first_visit && !first) fill(fields, player.settings);
    first = player.first_visit;
    byId("first").hidden = !first;
  } catch (error) {
    trouble(byId("trouble"), messageOf(error), show);
  }
  start.inert = fields.inert = false; // Until here, a change would have been lost.
}

/** @type {(player: Api.Player) => void} */
function showToday({ today, known, away }) {
  const time = ngettext("{count} minute", "{count} minutes", Math.round(today.minutes));
  const answers = ngettext("{count} answer", "{count} answers", today.seen);
  byId("today").textContent = today.seen
    ? _("Today: {time}, {answers}.", { time, answers })
    : away ?? (known ? ngettext("{count} card met so far; none yet today.", "{count} cards met so far; none yet today.", known) : _("Nothing met yet: the first minutes bring the one, the four and the five."));
  suggestBreak(today.minutes);
}

/** @type {(running: Api.Running | null) => void} */
function showRunning(running) {
  const place = byId("running");
  place.hidden = !running;
  start.hidden = Boolean(running);
  if (!running) return;
  const left = Math.max(1, Math.ceil(running.minutes - Math.max(running.visible_seconds, kept.seen(running.id)) / 60));
  const elsewhere = running.tab && running.tab !== tabId();
  place.replaceChildren(
    el("h2", { id: "running-title" }, _("A session is running")),
    el("p", { class: "quiet" }, ngettext("{count} minute left.", "{count} minutes left.", left), elsewhere && [" ", _("It is open in another tab.")]),
    el("div", { class: "row" },
      el("button", { type: "button", class: "work", onclick: () => goOn(running) }, elsewhere ? _("Go on here") : _("Go on")),
      el("button", { type: "button", class: "key", onclick: () => end(running) }, _("End it"))),
  );
}

/**
 * The next jam with its days left; how ready it is comes when it is worked out.
 * @type {(jam: Api.Player["jam"], running: Api.Running | null) => Promise<void>}
 */
async function showJam(jam, running) {
  const place = byId("jam");
  place.hidden = !jam;
  if (!jam) return;
  const ready = el("span");
  const failed = el("div");
  /** @type {(event: { currentTarget: HTMLButtonElement }) => Promise<void>} */
  const look = ({ currentTarget }) => startFor({ jam: jam.id, kind: "last look" }, currentTarget, failed);
  into(place,
    el("p", {}, el("a", { href: `/jams/${jam.id}` }, jam.words), " ", ready),
    !running && el("p", { class: "quiet" }, _("Sessions are aimed at it.")),
    !running && el("div", { class: "row" },
      jam.days === 0 && el("button", { type: "button", class: "work", onclick: look }, _("Last look")),
      el("button", { type: "button", class: "key small", onclick: (event) => begin(event, { jam: null }) }, _("Start without it"))),
    failed);
  /** @type {Api.Readiness | null} */
  const found = await ask("GET", `jams/${jam.id}/readiness`, undefined, 30).catch(() => null);
  if (found?.line) ready.textContent = found.line;
}

/** @type {(running: Api.Running) => Promise<void>} */
async function goOn(running) {
  try {
    if (running.tab !== tabId()) await kept.holdHere(await ask("POST", `sessions/${running.id}/here`, { tab: tabId() }));
  } catch (error) {
    if (error instanceof Refused) return trouble(byId("trouble"), messageOf(error), show);
  }
  return location.assign("/session");
}

/** @type {(running: Api.Running) => Promise<void>} */
async function end(running) {
  try {
    await ask("POST", `sessions/${running.id}/end`, { visible_seconds: Math.max(running.visible_seconds, kept.seen(running.id)) });
    location.assign(`/session/${running.id}/closing`);
  } catch (error) {
    trouble(byId("trouble"), messageOf(error), show);
  }
}

/** What was answered on the first visit, and the time zone of this device. */
async function keepFirst() {
  const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  await ask("PUT", "settings", { ...read(fields), zone }).catch((error) => {
    if (!(error instanceof Refused) || error.body.field !== "zone") throw error;
    return ask("PUT", "settings", read(fields));
  });
}

/**
 * Starts a session; `wanted` says what of it is not as always.
 * @type {(event: Event, wanted?: object) => Promise<void>}
 */
async function begin(event, wanted = {}) {
  event.preventDefault();
  const button = within(start, ".work", HTMLButtonElement);
  button.disabled = true;
  try {
    if (first) await keepFirst();
    first = false;
    /** @type {Api.Session} */
    const session = await ask("POST", "sessions", { minutes: Number(control(start, "minutes").value), tab: tabId(), ...wanted });
    await kept.holdHere(session);
    location.assign("/session");
  } catch (error) {
    button.disabled = false;
    if (error instanceof Refused && error.body.running) return showRunning(error.body.running);
    if (error instanceof Refused && error.body.field) {
      problem(fields, error.body.field, messageOf(error));
      byId("first").scrollIntoView({ block: "start" });
    }
    return trouble(byId("trouble"), messageOf(error));
  }
  return undefined;
}

start.addEventListener("submit", (event) => begin(event));
fields.addEventListener("submit", (event) => begin(event));
fields.addEventListener("change", (event) => problem(fields, fieldOf(targetOf(event)), ""));
// What was answered here stays in Settings, also where the page is left by another way than Start.
fields.addEventListener("change", () => (touched = true));
addEventListener("pagehide", () => {
  if (first && touched) fetch("/api/settings", { method: "PUT", keepalive: true, headers: { "Content-Type": "application/json" }, body: JSON.stringify(read(fields)) });
});
steppers(start);
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  within(start, ".work", HTMLButtonElement).disabled = false;
  show();
});
startSending();
show();
