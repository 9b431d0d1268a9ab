// Deleting something from a list, and having it back.

import { byId, el, into, say, trouble } from "./dom.js";
import { ask } from "../device/service.js";

/**
 * What deletes a thing of a list (`path` is its address in the API), says so where the page has its `#undo`, and has
 * it back on a tap; `show()` puts the list anew.
 */
export function deleting(show) {
  const place = byId("undo");

  async function remove(path, name) {
    try {
      await ask("DELETE", path, {});
      await show();
      const back = el("button", { type: "button", class: "key", onclick: () => haveBack(path, name) }, "Have it back");
      into(place, el("div", { class: "notice" }, el("p", { role: "status" }, `${name} is deleted.`), back));
      back.focus();
    } catch (error) {
      trouble(place, error.message, () => remove(path, name));
    }
  }

  async function haveBack(path, name) {
    try {
      await ask("POST", `${path}/back`, {});
      into(place);
      await show();
      document.querySelector(`#list [href="/${path}"]`)?.focus();
      say(`${name} is back.`);
    } catch (error) {
      trouble(place, error.message, () => haveBack(path, name));
    }
  }

  return remove;
}
