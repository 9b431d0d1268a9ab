// Deleting something from a list, and having it back.

import { all, byId, el, into, say, trouble } from "./dom.js";
import { ask, messageOf } from "../device/service.js";
import { _ } from "./words.js";

/**
 * What deletes a thing of a list (`path` is its address in the API), says so where the page has its `#undo`, and has
 * it back on a tap; `show()` puts the list anew.
 * @type {(show: () => unknown) => (path: string, name: string) => Promise<void>}
 */
export function deleting(show) {
  const place = byId("undo");

  /** @type {(path: string, name: string) => Promise<void>} */
  async function remove(path, name) {
    try {
      await ask("DELETE", path, {});
      await show();
      const back = el("button", { type: "button", class: "key", onclick: () => haveBack(path, name) }, _("Have it back"));
      into(place, el("div", { class: "notice" }, el("p", { role: "status" }, _("{name} is deleted.", { name })), back));
      back.focus();
    } catch (error) {
      trouble(place, messageOf(error), () => remove(path, name));
    }
  }

  /** @type {(path: string, name: string) => Promise<void>} */
  async function haveBack(path, name) {
    try {
      await ask("POST", `${path}/back`, {});
      into(place);
      await show();
      all(byId("list"), `[href="/${path}"]`)[0]?.focus();
      say(_("{name} is back.", { name }));
    } catch (error) {
      trouble(place, messageOf(error), () => haveBack(path, name));
    }
  }

  return remove;
}
