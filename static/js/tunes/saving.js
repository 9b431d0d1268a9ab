// Saving a tune, and what else has become of it: in another tab, on another device, before a reload.

import { byId, el, into, say, trouble, within } from "../lib/dom.js";
import { draftOf, draftsOf, dropDraft } from "../device/drafts.js";
import { ask, messageOf, Refused, reviewId, tabId } from "../device/service.js";
import { notice } from "./editor.js";
import { _, sayDate } from "../lib/words.js";

/** @import { Draft, Editor } from "./editor.js" */

/** @type {(draft: Draft) => string} */
const when = ({ at }) => sayDate(new Date(at), { dateStyle: "medium", timeStyle: "short" });

export class Saving {
  #editor;
  busy = false;

  /** @param {Editor} editor */
  constructor(editor) {
    this.#editor = editor;
  }

  async save() {
    if (this.busy) return;
    this.busy = true;
    const editor = this.#editor;
    editor.problem();
    const sent = editor.body;
    try {
      /** @type {Api.Tune} */
      const saved = editor.id
        ? await ask("PUT", `tunes/${editor.id}`, { ...sent, changed_at: editor.changedAt })
        : await ask("POST", "tunes", { ...sent, id: editor.newId });
      this.#turnTo(saved.id);
      editor.changedAt = saved.changed_at;
      editor.titled = true;
      editor.unsaved = false;
      into(byId("draft"));
      into(byId("trouble"));
      byId("title-how").hidden = true;
      byId("saved").textContent = _("Saved.");
      if (JSON.stringify(sent) !== JSON.stringify(editor.body)) editor.keep(); // Typed on meanwhile.
      else backToJam(saved.id);
    } catch (error) {
      this.#refused(error);
    } finally {
      this.busy = false;
    }
  }

  /** From here on it is the tune with this id; its draft is done with. @type {(id: string) => void} */
  #turnTo(id) {
    const editor = this.#editor;
    dropDraft(editor.place + tabId());
    editor.id = id;
    history.replaceState(null, "", `/tunes/${id}${location.search}`);
    this.#showLinks();
  }

  #showLinks() {
    const { id } = this.#editor;
    byId("heading").textContent = id ? _("Tune") : _("New tune");
    into(byId("links"), id && el("a", { class: "key", href: `/tunes/${id}/play` }, _("Play along")), id && el("a", { class: "key", href: `/tunes/${id}/sheet` }, _("Sheet")));
  }

  /** @type {(error: unknown) => void} */
  #refused(error) {
    if (!(error instanceof Refused)) trouble(byId("trouble"), _("{reason} What you typed is kept on this device.", { reason: messageOf(error) }), () => this.save());
    else if (error.status === 409 && error.body.tune) this.elsewhere(error.body.tune);
    else {
      this.#editor.problem(error.body.field, messageOf(error));
      this.#editor.focus(error.body.field ?? "");
    }
  }

  /**
   * The tune was changed in another tab or on another device: both are there until the player chooses. A new tune may
   * be saved already, by another tab that went on with it.
   * @type {(theirs: Api.Tune) => void}
   */
  elsewhere(theirs) {
    const editor = this.#editor;
    const mine = editor.draft;
    const over = () => {
      this.#turnTo(theirs.id);
      editor.changedAt = theirs.changed_at;
      editor.keep();
      this.save();
    };
    const back = () => {
      editor.fill({ ...mine, changed_at: theirs.changed_at });
      editor.keep();
    };
    const other = () => {
      this.#turnTo(theirs.id);
      editor.fill(theirs);
      into(byId("draft"), notice(_("This is how it was changed elsewhere."), [_("Have mine back"), back]));
    };
    into(byId("draft"), notice(_("This tune was changed elsewhere since you opened it. Yours is still here; both can be kept."),
      [_("Keep both"), () => this.#saveAsNew()], [_("Save mine over it"), over], [_("Take the other"), other]));
    within(byId("draft"), "button").focus();
  }

  /** Saves what is here as a tune of its own. */
  #saveAsNew() {
    const editor = this.#editor;
    dropDraft(editor.place + tabId());
    editor.id = "";
    editor.changedAt = null;
    editor.newId = reviewId();
    editor.keep();
    this.save();
  }

  // ---- the beginning

  async open() {
    const editor = this.#editor;
    /** @type {Draft | null} */
    const mine = draftOf(editor.place + tabId());
    try {
      /** @type {Api.Tune | null} */
      const kept = editor.id ? await ask("GET", `tunes/${editor.id}`) : null;
      into(byId("trouble"));
      if (mine) {
        await editor.fill(mine);
        editor.keep();
        into(byId("draft"), notice(_("Not saved yet: what you typed here on {when}.", { when: when(mine) }), [_("Throw it away"), () => this.#throwAway(kept)]));
      } else if (kept) await editor.fill(kept);
      else editor.put(null);
      if (kept?.deleted) into(byId("draft"), notice(_("This tune is deleted. Saving it brings it back."), [_("Have it back"), () => this.#haveBack()]));
      else if (!mine) this.#offer();
      this.#showLinks();
    } catch (error) {
      if (mine) await editor.fill(mine);
      else if (error instanceof Refused) editor.form.hidden = true;
      trouble(byId("trouble"), messageOf(error), error instanceof Refused ? null : () => this.open());
      if (editor.form.hidden) within(byId("trouble"), ".notice").append(el("a", { class: "key", href: "/tunes" }, _("Tunes")));
      if (!mine) return;
    }
    editor.form.inert = false; // Until here, what is typed would be lost.
  }

  /** @type {(kept: Api.Tune | null) => void} */
  #throwAway(kept) {
    const editor = this.#editor;
    dropDraft(editor.place + tabId());
    editor.newId = reviewId();
    editor.fill(kept ?? {});
    editor.unsaved = false;
    say(_("Thrown away."));
  }

  async #haveBack() {
    try {
      await ask("POST", `tunes/${this.#editor.id}/back`, {});
      say(_("The tune is back."));
    } catch (error) {
      trouble(byId("draft"), messageOf(error), () => this.#haveBack());
    }
  }

  /** What another tab has not saved, or one that is closed. */
  #offer() {
    const editor = this.#editor;
    /** @type {[string, Draft][]} */
    const drafts = draftsOf(editor.place);
    const [name, other] = drafts.find(([, draft]) => draft.text.trim() || draft.title) ?? [];
    if (!name || !other) return;
    const words = _("“{title}” was typed in another tab on {when} and is not saved.", { title: other.title || other.text.trim().slice(0, 30), when: when(other) });
    const goOn = () => {
      editor.fill(other);
      editor.keep();
      dropDraft(name);
    };
    into(byId("draft"), notice(words, [_("Go on with it here"), goOn], [_("Throw it away"), () => dropDraft(name)]));
  }

  /** Looks whether the tune was changed elsewhere while the page was away. */
  async lookAgain() {
    const editor = this.#editor;
    if (!editor.id || this.busy || !editor.changedAt) return;
    /** @type {Api.Tune | null} */
    const theirs = await ask("GET", `tunes/${editor.id}`).catch(() => null);
    if (!theirs || theirs.changed_at === editor.changedAt) return;
    if (editor.unsaved) this.elsewhere(theirs);
    else editor.fill(theirs);
  }
}

/** Back to the jam that the tune was written for. @type {(id: string) => void} */
function backToJam(id) {
  const jam = new URLSearchParams(location.search).get("jam");
  if (jam && /^[0-9a-f]{32}$/.test(jam)) location.href = `/jams/${jam}?add=${id}`;
}
