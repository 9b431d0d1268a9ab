// Answers go to the service from here. Each is kept on the device first, and leaves it only when the service
// has acknowledged it; whatever was refused stays in sight with the reason. An entry with `post` and `body` is a
// request of its own: a sitting with a tune.

import { byId, el } from "../lib/dom.js";
import * as kept from "./kept.js";
import { ask, messageOf, Refused, tabId } from "./service.js";
import { _, ngettext } from "../lib/words.js";

const BATCH = 40;
const FIRST_WAIT = 1;
const LONGEST_WAIT = 30;
const USUAL = 4000; // ms on its way until an answer counts as not sent yet
const STORES_NOTHING = _("This browser keeps nothing for this page. If you close the page before an answer is sent, the answer is lost.");

/** @type {Kept.Entry[]} */
let held = [];
let wait = FIRST_WAIT;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
/** @type {Promise<void> | null} */
let busy = null;
/** @type {(session: string, reply: Api.Batch, entries: Kept.Entry[]) => void} */
let heard = () => {};
/** @type {string | null} */
let troubled = null;

/**
 * Everything this device holds for one session: waiting and refused.
 * @type {(session: string) => Kept.Entry[]}
 */
export const heldFor = (session) => held.filter((entry) => entry.session === session);

/** @type {(session: string) => Kept.Entry[]} */
export const waitingFor = (session) => heldFor(session).filter((entry) => entry.state === "waiting");

/**
 * Reads what is kept and goes on sending it. `onReply(session, reply, entries)` hears every batch that came through.
 * @type {(onReply?: typeof heard) => Promise<void>}
 */
export async function startSending(onReply = () => {}) {
  heard = onReply;
  try {
    const known = new Set(held.map((entry) => entry.id));
    held = [...(await kept.answers()).filter((entry) => !known.has(entry.id)), ...held];
  } catch {
    troubled = STORES_NOTHING;
  }
  held.sort((a, b) => a.answered_at - b.answered_at);
  addEventListener("online", sendNow);
  document.addEventListener("visibilitychange", () => document.hidden || sendNow());
  show();
  return send();
}

/**
 * Keeps an answer (or a mis-tap: an entry with `review`) and sends it. Resolves when it is safe on the device.
 * @type {(entry: Kept.Entry) => Promise<void>}
 */
export async function keep(entry) {
  /** @type {Kept.Entry} */
  const whole = { ...entry, state: "waiting" };
  held.push(whole);
  show();
  try {
    await kept.keepAnswer(whole);
  } catch {
    troubled = STORES_NOTHING;
    show();
  }
  sendNow();
  setTimeout(show, USUAL);
}

function sendNow() {
  wait = FIRST_WAIT;
  return send();
}

/**
 * Sends what waits, one batch after the other, until nothing waits or the service is away.
 * @type {() => Promise<void>}
 */
export function send() {
  clearTimeout(timer);
  timer = undefined;
  busy ??= sendAll().finally(() => {
    busy = null;
    show();
    if (timer === undefined && next().length) send(); // One was kept while the last request came back.
  });
  return busy;
}

async function sendAll() {
  for (let entries = next(); entries.length; entries = next()) {
    try {
      await sendEntries(entries);
      wait = FIRST_WAIT;
    } catch (error) {
      if (error instanceof Refused) {
        await refuse(entries, messageOf(error));
        continue;
      }
      for (const entry of entries) entry.tried = true;
      timer = setTimeout(send, wait * 1000 * (0.8 + 0.4 * Math.random()));
      wait = Math.min(LONGEST_WAIT, wait * 2);
      return;
    }
  }
}

/**
 * The next request, in the order in which things were done: one mis-tap, or answers of one session up to the
 * next mis-tap (which takes back the last answer before it, and no other).
 * @type {() => Kept.Entry[]}
 */
function next() {
  const waiting = held.filter((entry) => entry.state === "waiting");
  const [first] = waiting;
  /** @type {(entry: Kept.Entry) => unknown} */
  const single = (entry) => entry.review || entry.alone || entry.post;
  if (!first || single(first)) return waiting.slice(0, 1);
  const end = waiting.findIndex((entry) => single(entry) || entry.session !== first.session);
  return waiting.slice(0, Math.min(BATCH, end < 0 ? BATCH : end));
}

/** @type {(entries: Kept.Entry[]) => Promise<void>} */
async function sendEntries(entries) {
  const { session, review, post } = entries[0];
  if (post) return sendWhole(entries[0]);
  if (review) {
    /** @type {{ status: string, reason: string }} */
    const reply = await ask("POST", `sessions/${session}/mistaps`, { review });
    if (reply.status === "refused") return refuse(entries, reply.reason);
    return drop(entries[0]);
  }
  /** @type {Api.Batch} */
  const reply = await ask("POST", `sessions/${session}/reviews`, {
    sent_at: Date.now(),
    tab: tabId(),
    visible_seconds: kept.seen(session),
    reviews: entries.map(({ id, question, card, given, seconds, mode, answered_at }) => ({
      id, question, card, given, seconds, mode, answered_at,
    })),
  });
  const replies = new Map(reply.items.map((item) => [item.id, item]));
  heard(session, reply, entries);
  for (const entry of entries) {
    const item = replies.get(entry.id);
    if (item?.status === "refused") await refuse([entry], item.reason);
    else if (item) await drop(entry);
    else await refuse([entry], _("The service did not say what became of it."));
  }
}

/** @type {(entry: Kept.Entry) => Promise<void>} */
async function sendWhole(entry) {
  /** @type {Api.Batch} */
  const reply = await ask("POST", entry.post ?? "", { ...entry.body, sent_at: Date.now() });
  heard(entry.session, reply, [entry]);
  const refused = reply.items.filter((item) => item.status === "refused");
  if (refused.length) return refuse([entry], refused.map((item) => item.reason).join("; "));
  return drop(entry);
}

/**
 * A batch that was refused whole is tried again one by one, so that one bad answer blocks no other.
 * @type {(entries: Kept.Entry[], reason: string) => Promise<void>}
 */
async function refuse(entries, reason) {
  for (const entry of entries) {
    if (entries.length > 1) entry.alone = true;
    else Object.assign(entry, { state: "refused", reason });
    await kept.keepAnswer(entry).catch(() => {});
  }
  show();
}

/** @type {(entry: Kept.Entry) => Promise<void>} */
async function drop(entry) {
  held = held.filter((other) => other !== entry);
  await kept.dropAnswer(entry.id).catch(() => {});
}

/** @type {(entry: Kept.Entry) => Promise<void>} */
async function again(entry) {
  entry.state = "waiting";
  show();
  await sendNow();
}

/** "2 answers not sent yet" (in the bar of the drill, where it moves nothing), and every refused one with its reason. */
function show() {
  const place = byId("unsent");
  const bar = document.getElementById("waiting"); // Only the drill has one.
  const waiting = held.filter((entry) => entry.state === "waiting" && (entry.tried || Date.now() - entry.answered_at > USUAL));
  const refused = held.filter((entry) => entry.state === "refused");
  /** @type {HTMLElement[]} */
  const lines = [];
  const said = waiting.length ? ngettext("{count} answer not sent yet", "{count} answers not sent yet", waiting.length) : "";
  if (troubled) lines.push(el("p", {}, troubled));
  if (bar) bar.textContent = said;
  else if (said) lines.push(el("p", {}, said, button(_("Send now"), sendNow)));
  for (const entry of refused) {
    const card = entry.card ?? _("mis-tap");
    lines.push(
      el("p", {}, _("Not taken ({card}): {reason}", { card, reason: entry.reason }), button(_("Send again"), () => again(entry)), button(_("Remove"), async () => {
        await drop(entry);
        show();
      })),
    );
  }
  place.replaceChildren(...lines);
  place.hidden = lines.length === 0;
}

/** @type {(label: string, onclick: () => unknown) => HTMLButtonElement} */
const button = (label, onclick) => el("button", { type: "button", class: "key small", onclick }, label);
