// Files from the player's device to the service, one request each.

import { ask, messageOf, reviewId } from "../device/service.js";
import { byId, within } from "../lib/dom.js";
import { _ } from "../lib/words.js";

/**
 * The largest file that is sent, in bytes, as the service gives it to the page. The service refuses larger ones, but
 * would say so only after all of it was sent.
 */
const most = () => Number(within(byId("main"), "[data-largest-file]").dataset.largestFile);

/**
 * A file's bytes in Base64.
 * @type {(file: File) => Promise<string>}
 */
export function inBase64(file) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result).replace(/^[^,]*,/, ""));
    reader.onerror = () => reject(new Error(_("it cannot be read from this device")));
    reader.readAsDataURL(file);
  });
}

/**
 * What became of a file: `[{ name, tune } | { name, refused }]`. Sent again under its id, it is brought in once.
 * @type {(file: File, id?: string) => Promise<Api.Brought[]>}
 */
export async function bring(file, id = reviewId()) {
  if (file.size > most()) {
    const megabytes = Math.floor(most() / 2 ** 20);
    return [{ name: file.name, refused: _("more than {megabytes} MB: no chart is that long", { megabytes }) }];
  }
  try {
    /** @type {{ files: Api.Brought[] }} */
    const { files } = await ask("POST", "tunes/files", { id, name: file.name, data: await inBase64(file) }, 60);
    return files;
  } catch (error) {
    return [{ name: file.name, refused: messageOf(error), again: () => bring(file, id) }];
  }
}
