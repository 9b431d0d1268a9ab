// The service as the page sees it: JSON over the page's own origin.

import { TAB } from "./stored.js";
import { _ } from "../lib/words.js";

/** The service cannot be reached, or cannot answer just now: the same request may work later. */
export class Unreachable extends Error {}

/** The service answered that it will not do this; the message is its sentence. */
export class Refused extends Error {
  /** @param {number} status @param {Api.Problem | null} body */
  constructor(status, body) {
    super(body?.error ?? _("The service answered {status}.", { status }));
    this.status = status;
    /** @type {Api.Problem} */
    this.body = body ?? {};
  }
}

/**
 * What an error says.
 * @type {(error: unknown) => string}
 */
export const messageOf = (error) => (error instanceof Error ? error.message : String(error));

/**
 * One request; `seconds` is how long to wait. Throws Unreachable or Refused.
 * @template T
 * @param {string} method
 * @param {string} path
 * @param {object} [body]
 * @param {number} [seconds]
 * @returns {Promise<T>}
 */
export async function ask(method, path, body = undefined, seconds = 10) {
  const sends = body !== undefined;
  const options = {
    method,
    headers: { Accept: "application/json", ...(sends && { "Content-Type": "application/json" }) },
    body: sends ? JSON.stringify(body) : undefined,
    signal: AbortSignal.timeout(seconds * 1000),
  };
  let response, reply;
  try {
    response = await fetch(`/api/${path}`, options);
    reply = await response.json();
  } catch {
    if (response && response.status < 500 && !response.ok) throw new Refused(response.status, null);
    throw new Unreachable(_("The service does not answer."));
  }
  if (response.status >= 500 || response.status === 429) {
    throw new Unreachable(reply?.error ?? _("The service has trouble just now."));
  }
  if (!response.ok) throw new Refused(response.status, reply);
  return reply;
}

/** @type {(bytes: number) => string} */
const hex = (bytes) => Array.from(crypto.getRandomValues(new Uint8Array(bytes)), (byte) => byte.toString(16).padStart(2, "0")).join("");

/** The id of a review: 128 random bits, made on this device. */
export const reviewId = () => hex(16);

let tab = sessionStorage.getItem(TAB.tab) ?? hex(8);
sessionStorage.setItem(TAB.tab, tab);

/** Which tab this is. It survives a reload; a duplicated tab gets its own (see `onDoubled`). */
export const tabId = () => tab;

/**
 * A tab that the browser duplicates takes over the other's memory and with it the other's id.
 * The older tab objects; the younger one takes a new id and calls `doubled`.
 * @type {(doubled: () => void) => void}
 */
export function onDoubled(doubled) {
  const channel = new BroadcastChannel("tabs");
  const born = performance.timeOrigin;
  channel.onmessage = ({ data }) => {
    if (data.tab !== tab || data.born === born) return;
    if (data.born > born) channel.postMessage({ tab, born });
    else {
      tab = hex(8);
      sessionStorage.setItem(TAB.tab, tab);
      doubled();
    }
  };
  channel.postMessage({ tab, born });
}
