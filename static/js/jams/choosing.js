// Tunes to be added to a set list: several at once, found by their title.

import { el, into, say, trouble, within } from "../lib/dom.js";
import { ask, messageOf } from "../device/service.js";
import { _, ngettext } from "../lib/words.js";

const MANY = 8; // from so many tunes on there is a field to find one

/**
 * Fills the details `place` of jam `jam` when it is opened; `add(tunes)` gets those chosen, `there()` the entries.
 * @type {(place: HTMLDetailsElement, jam: string, add: (tunes: Api.Tune[]) => void, there: () => Api.Entry[]) => void}
 */
export function adding(place, jam, add, there) {
  const body = within(place, "div");
  /** @type {Map<string, Api.Tune>} */
  const chosen = new Map();
  /** @type {Api.Tune[]} */
  let tunes = [];

  const items = el("div", { class: "groups-of" });
  const none = el("p", { role: "status" });
  const find = el("input", { type: "search", class: "line", autocomplete: "off", spellcheck: "false", oninput: () => put() });
  const button = el("button", { type: "button", class: "work", onclick: () => take() });
  const ways = [el("a", { class: "key", href: `/tunes/new?jam=${jam}` }, _("A new tune")), el("a", { class: "key", href: "/tunes" }, _("Tunes"))];

  function put() {
    const wanted = find.value.trim().toLocaleLowerCase();
    const shown = tunes.filter((tune) => tune.title.toLocaleLowerCase().includes(wanted));
    const played = new Set(there().map((entry) => entry.tune));
    into(items, shown.map((tune) => el("label", { class: "check" },
      el("input", { type: "checkbox", value: tune.id, checked: chosen.has(tune.id), onchange: ({ currentTarget }) => choose(tune, currentTarget.checked) }),
      el("span", {}, _("{title}, {key}", { title: tune.title, key: tune.key }), played.has(tune.id) && el("span", { class: "quiet" }, " · ", _("in the list"))))));
    none.textContent = shown.length ? "" : _("No tune is called “{name}”.", { name: find.value.trim() });
  }

  /** @type {(tune: Api.Tune, wanted: boolean) => void} */
  function choose(tune, wanted) {
    if (wanted) chosen.set(tune.id, tune);
    else chosen.delete(tune.id);
    name();
  }

  function name() {
    button.textContent = chosen.size ? ngettext("Add {count} tune", "Add {count} tunes", chosen.size) : _("Add");
  }

  function take() {
    if (!chosen.size) return say(_("Tick the tunes to add."));
    add([...chosen.values()]);
    chosen.clear();
    name();
    return put();
  }

  async function show() {
    try {
      ({ tunes } = await ask("GET", "tunes"));
    } catch (error) {
      return trouble(body, messageOf(error), show);
    }
    if (!tunes.length) return into(body, el("p", {}, _("There is no tune yet: type one in, start from a form, or bring files in on the Tunes page.")), el("div", { class: "row tight" }, ways));
    into(body, tunes.length >= MANY && el("label", {}, _("Find"), " ", find), items, none, el("div", { class: "row tight" }, button, ways));
    name();
    return put();
  }

  place.addEventListener("toggle", () => place.open && show());
}
