// Bringing an export back: the file goes to the service as it is, which takes it whole or says what is wrong.

import { messageOf } from "../device/service.js";
import { byId, control, el, trouble } from "../lib/dom.js";
import { _, ngettext } from "../lib/words.js";

/** @type {(file: File) => Promise<{ reviews: number }>} */
async function send(file) {
  let response, reply;
  try {
    response = await fetch("/api/import", { method: "POST", headers: { "Content-Type": "application/json" }, body: file });
    reply = await response.json();
  } catch {
    throw new Error(_("The service does not answer. Load the page again before you try again: it shows whether the file was taken in."));
  }
  if (!response.ok) throw new Error(_("Nothing was taken in. {reason}", { reason: reply.error }));
  return reply;
}

/**
 * Wires the form; `done()` is called once a file was taken in.
 * @type {(done: () => void) => void}
 */
export function startImport(done) {
  const form = byId("import", HTMLFormElement);
  const said = byId("import-said");
  form.inert = false;
  form.addEventListener("submit", (event) => event.preventDefault());
  form.addEventListener("change", async () => {
    const file = control(form, "file").files?.[0];
    if (!file) return;
    said.replaceChildren(el("p", { role: "status" }, _("Reading")));
    try {
      const { reviews } = await send(file);
      said.replaceChildren(el("p", { role: "status" }, ngettext("Taken in: {count} answer.", "Taken in: {count} answers.", reviews)));
      done();
    } catch (error) {
      trouble(said, messageOf(error));
    }
    form.reset();
  });
}
