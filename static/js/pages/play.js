// Playing along with a tune: fetches it and listens to the hands.

import { chartWords } from "../tunes/chartview.js";
import { byId, el, into, say, targetOf, trouble } from "../lib/dom.js";
import { keepSound, soundOn } from "../device/metronome.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf, Refused } from "../device/service.js";
import { keepSingleKeys } from "../device/stored.js";
import { Choices } from "../play/choices.js";
import { Desk } from "../play/desk.js";
import { _ } from "../lib/words.js";

const place = byId("play");
const singleKeys = byId("single-keys", HTMLInputElement);
const tune = place.dataset.tune ?? "";
const address = new URLSearchParams(location.search);
const jam = address.get("jam");

/** The page: the tune that is played, once it is there. */
class Page {
  /** @type {Desk | null} */
  desk = null;
  choices = new Choices(byId("how", HTMLFormElement), {
    began: (bar) => this.desk?.begin(bar),
    turned: (box) => this.turnBox(box),
  });

  /**
   * Fetches the tune with the cards of a box; `then` gets it.
   * @type {(box: string | null, then: (part: Api.PlayPart) => void) => Promise<void>}
   */
  async fetch(box, then) {
    const query = new URLSearchParams(address);
    if (box) query.set("box", box);
    try {
      /** @type {Api.PlayPart} */
      const part = await ask("GET", `play/${tune}?${query}`);
      byId("trouble").replaceChildren();
      then(part);
    } catch (error) {
      trouble(byId("trouble"), messageOf(error), error instanceof Refused ? null : () => this.fetch(box, then));
      if (this.desk) this.choices.box = this.desk.box;
    }
    place.removeAttribute("aria-busy");
  }

  /** @type {(part: Api.PlayPart) => void} */
  open(part) {
    putHead(part);
    this.desk = new Desk(part, this.choices, jam);
    this.desk.open();
  }

  /** Another box: the same tune with other cards; what was chosen beside it stays. @type {(box: string) => void} */
  turnBox(box) {
    this.fetch(box, (part) => {
      this.desk?.turnTo(part);
      address.set("box", box);
      history.replaceState(null, "", `?${address}`);
    });
  }
}

/** The title, what the chart says of itself, and the tunes beside it. @type {(part: Api.PlayPart) => void} */
function putHead(part) {
  byId("title").textContent = part.title;
  document.title = `${part.title} · Anchor Drill`;
  into(byId("about"), chartWords(part.chart), part.jam && el("span", {}, " · ", el("a", { href: `/jams/${part.jam.id}` }, part.jam.name)));
  /** @type {(entry: Api.Neighbour | null, words: (title: string) => string) => Dom.Child} */
  const link = (entry, words) => entry && el("a", { class: "key", href: `/tunes/${entry.tune}/play?jam=${jam}&entry=${entry.entry}` }, words(entry.title));
  into(byId("beside"), link(part.before, (title) => _("Before: {title}", { title })), link(part.after, (title) => _("After: {title}", { title })), el("a", { class: "key", href: `/tunes/${tune}/sheet` }, _("Sheet")), el("a", { class: "key", href: `/tunes/${tune}` }, _("The tune")));
  showClick();
}

function showClick() {
  byId("click").textContent = soundOn() ? _("Click on") : _("Click off");
}

function turnClick() {
  keepSound(!soundOn());
  page.desk?.sound();
  showClick();
  say(soundOn() ? _("Click on") : _("Click off"));
}

/** What a key means here; true if it meant something. @type {(desk: Desk, key: string) => boolean} */
function meaning(desk, key) {
  if (desk.key(key)) return true;
  if (key === "c") turnClick();
  else return desk.state === "resting" && atRest(desk, key);
  return true;
}

/** @type {(desk: Desk, key: string) => boolean} */
function atRest(desk, key) {
  /** @type {Record<string, () => void>} */
  const does = {
    t: () => page.choices.tapTempo(),
    arrowright: () => desk.step(1),
    arrowleft: () => desk.step(-1),
    arrowup: () => page.choices.step(1),
    arrowdown: () => page.choices.step(-1),
  };
  if (!does[key]) return false;
  does[key]();
  return true;
}

/** @type {(event: KeyboardEvent) => void} */
function pressed(event) {
  const target = targetOf(event);
  if (event.altKey || event.ctrlKey || event.metaKey || event.repeat || !page.desk) return;
  if (target.matches("input, select, summary")) return;
  if (event.key === " " && target.matches("button, a")) return; // It presses what has the focus.
  if (event.key.length === 1 && event.key !== " " && !singleKeys.checked) return;
  if (meaning(page.desk, event.key.toLowerCase())) event.preventDefault();
}

const page = new Page();
byId("tap").addEventListener("click", () => page.choices.tapTempo());
byId("click").addEventListener("click", turnClick);
byId("ways").addEventListener("click", (event) => {
  const way = /** @type {HTMLElement | null} */ (targetOf(event).closest("[data-way]"));
  if (way?.dataset.way === "lost") page.desk?.lose();
});
document.addEventListener("keydown", pressed);
document.addEventListener("visibilitychange", () => document.hidden && page.desk?.pause(_("The page was hidden, so it was paused.")));
keepSingleKeys(singleKeys);
startSending((session, reply) => page.desk?.hear(session, reply));
page.fetch(address.get("box"), (part) => page.open(part));
