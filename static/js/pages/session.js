// The drill: finds the session that runs, and goes on with it until its time is up.

import { byId, el, trouble } from "../lib/dom.js";
import * as kept from "../device/kept.js";
import { startSending } from "../device/sending.js";
import { ask, messageOf, onDoubled, Refused, tabId, Unreachable } from "../device/service.js";
import { TAB } from "../device/stored.js";
import { Acts } from "../session/acts.js";
import { Drill } from "../session/drill.js";
import { listen } from "../session/keyboard.js";
import { button, Screen } from "../session/screen.js";
import { _ } from "../lib/words.js";

const screen = new Screen();
const acts = new Acts();

/** The page: the session that it shows, once there is one. */
class Page {
  /** @type {Drill | null} */
  drill = null;

  /** A tab that held the session goes on with it at once and asks the service meanwhile; another one asks first. */
  async enter() {
    const sent = startSending((id, reply, entries) => {
      if (this.drill?.session.id === id) this.drill.hear(reply, entries);
    });
    const local = await kept.session().catch(() => undefined);
    if (local && local.id === sessionStorage.getItem(TAB.holds)) {
      this.take(local, true);
      await this.verify();
      return;
    }
    await Promise.race([sent, new Promise((resolve) => setTimeout(resolve, 1500))]);
    await this.find(local);
  }

  /**
   * Finds the session that runs; while the service is away, the one this device knows goes on.
   * @type {(local: Api.Session | undefined) => Promise<void>}
   */
  async find(local) {
    try {
      /** @type {Api.Player} */
      const { running } = await ask("GET", "player", undefined, 4);
      if (running) {
        this.take(await ask("GET", `sessions/${running.id}?tab=${tabId()}`, undefined, 6));
        return;
      }
    } catch (error) {
      if (error instanceof Unreachable && local) this.take(local, true);
      else screen.stop(_("The session is not here."), messageOf(error), button(_("Try again"), () => this.find(local), { class: "work" }));
      return;
    }
    if (local) location.replace(`/session/${local.id}/closing`);
    else screen.stop(_("No session is running."), _("Start one, and the first card is here."), el("a", { class: "work", href: "/" }, _("To the start")));
  }

  /**
   * Goes on with a session; `mine` if there is no need to look which tab holds it.
   * @type {(session: Api.Session, mine?: boolean) => void}
   */
  take(session, mine = false) {
    this.drill ??= new Drill(session, screen, acts, () => this.goOnHere());
    this.drill.take(session, mine || !session.tab || session.tab === tabId());
  }

  /** Whether the session still runs, and here: it may have gone on in another tab, or ended. */
  async verify() {
    const { drill } = this;
    if (!drill) return;
    const { id } = drill.session;
    try {
      /** @type {Api.Session} */
      const given = await ask("GET", `sessions/${id}?tab=${tabId()}`);
      drill.sitting.atLeast(given.visible_seconds);
      if (given.ended) location.replace(`/session/${id}/closing`);
      else if (given.tab !== tabId()) drill.lose();
    } catch (error) {
      if (error instanceof Refused && screen.state !== "ending") {
        screen.stop(_("This session is gone."), messageOf(error), el("a", { class: "work", href: "/" }, _("To the start")));
      }
    }
  }

  async goOnHere() {
    if (!this.drill) return;
    try {
      this.take(await ask("POST", `sessions/${this.drill.session.id}/here`, { tab: tabId() }), true);
    } catch (error) {
      trouble(screen.places.outcome, messageOf(error), () => this.goOnHere());
    }
  }
}

const page = new Page();
const takeBack = () => page.drill?.takeBack();
listen(screen, acts, takeBack);
byId("mistap").addEventListener("click", takeBack);
addEventListener("pageshow", (event) => event.persisted && page.verify());
setInterval(() => page.drill?.showLeft(), 2000);
onDoubled(() => page.drill?.lose());
navigator.serviceWorker?.register("/offline.js").then(
  () => navigator.serviceWorker.controller?.postMessage("keep"),
  () => {}, // Without it, only a reload while the service is away waits for the service.
);
page.enter();
