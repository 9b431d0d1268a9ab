// One card on the screen: the question, and the ways to answer it. The clock is not kept here.

import { drawing, el, where } from "./dom.js";
import { NamePad, normalName } from "./name.js";
import { Neck } from "./neck.js";

const ASKED = { name: "Name it", place: "Place it", "name-place": "Name and place it", number: "Which number?", "hands-on": "Play it" };

/** The heading of a question: the number big, what is wanted beside it, key and box under it. */
export function asked(prompt) {
  return [
    el("span", { class: "unseen" }, prompt.sentence),
    el("span", { class: "number", "aria-hidden": "true" }, prompt.number ?? "?", prompt.seventh && el("small", {}, "seventh")),
    el("span", { class: "where", "aria-hidden": "true" }, where(prompt.key, prompt.box)),
    el("span", { class: "wanted", "aria-hidden": "true" }, ASKED[prompt.ask]),
  ];
}

const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);

/**
 * The inputs of one card. `answered(given)` is called once; `draft` is what had been put in before a reload,
 * `keep(draft)` hears every change of it, `played()` is called when a hands-on chord has sounded, and `touched()`
 * says whether the last act was a touch.
 */
export class Card {
  #prompt;
  #places;
  #settings;
  #calls;
  #parts;
  #given = {};
  #pad = null;
  #neck = null;

  constructor({ prompt, settings, places, draft, ...calls }) {
    this.#prompt = prompt;
    this.#settings = settings;
    this.#places = places;
    this.#calls = calls;
    this.#parts = [...prompt.parts];
    this.#given = { ...(draft.given ?? {}) };
    this.#parts = this.#parts.filter((part) => this.#given[part] === undefined || part === "frets");
    this.#show(draft);
  }

  get part() {
    return this.#parts[0];
  }

  /** Puts the focus where the answer goes; after a touch not, or the phone's own keyboard would come up. */
  focus() {
    const touched = this.#calls.touched();
    if (!touched && this.part === "name") this.#pad.field.focus({ preventScroll: true });
    else if (!touched && this.part === "frets") this.#neck.focus();
    else if (!touched && this.part === "hands") this.#places.ledge.querySelector(".work").focus();
    else this.#places.title.focus({ preventScroll: true });
  }

  remove() {
    this.#neck?.remove();
    this.#neck = this.#pad = null;
    for (const place of [this.#places.work, this.#places.tools, this.#places.ledge]) place.replaceChildren();
  }

  /** Enter: the one action of this card. */
  check() {
    if (this.part === "name") this.#pad.check();
    else if (this.part === "frets") this.#checkNeck();
  }

  showMe() {
    this.#calls.answered({ ...this.#given, shown: true });
  }

  /** A single key of the keyboard; true if it meant something here (a letter of a name goes on to the line). */
  key(key) {
    const letter = key.toLowerCase();
    if (this.part === "name" && /^[a-g]$/.test(letter)) {
      this.#pad.field.focus();
      return false;
    }
    const neck = { v: () => this.#turn(), r: () => this.#mark(), backspace: () => this.#neck.undo(), delete: () => this.#neck.clear() };
    if (letter === "s") this.showMe();
    else if (this.part === "number" && /^[1-7]$/.test(key)) this.#take("number", key);
    else if (this.part === "frets" && neck[letter]) neck[letter]();
    else if (this.part === "frets") return this.#neck.key(key);
    else return false;
    return true;
  }

  #take(part, value) {
    this.#given[part] = value;
    this.#parts.shift();
    if (this.#parts.length === 0) return this.#calls.answered(this.#given);
    this.#keep();
    this.#show({});
    return this.focus();
  }

  #keep(more = {}) {
    this.#calls.keep({ given: this.#given, ...more });
  }

  #show(draft) {
    this.remove();
    this.#places.main.dataset.part = this.part;
    ({ name: () => this.#showName(draft), frets: () => this.#showNeck(draft), number: () => this.#showNumbers(), hands: () => this.#showHands() })[this.part]();
  }

  #ledge(...buttons) {
    this.#places.ledge.replaceChildren(button("Show me", () => this.showMe()), ...buttons);
  }

  #showName(draft) {
    this.#pad = new NamePad({
      changed: (pad) => this.#keep({ pad }),
      done: (name) => this.#take("name", name),
    });
    if (draft.pad) this.#pad.draft = draft.pad;
    this.#places.work.replaceChildren(this.#pad.element);
    this.#ledge(button(this.#parts.length > 1 ? "To the neck" : "Check", () => this.check(), { class: "work" }));
  }

  #showNeck(draft) {
    this.#neck = new Neck({
      leftHanded: this.#settings.left_handed,
      changed: () => this.#keep({ frets: this.#neck.frets }),
    });
    if (draft.frets) this.#neck.frets = draft.frets;
    if (this.#given.hinted) this.#neck.mark(this.#prompt.hint);
    const name = this.#given.name && normalName(this.#given.name);
    const named = name && button(name, () => this.#renameIt(), { "aria-label": `Named ${name}: change it` });
    this.#places.work.replaceChildren(this.#neck.element);
    this.#places.tools.replaceChildren(
      ...[
        named,
        button("Undo", () => this.#neck.undo()),
        button("Clear", () => this.#neck.clear()),
        button("12–22", () => this.#turn(), { id: "view", "aria-label": `Show ${this.#neck.otherView}` }),
        this.#prompt.hint && button("Mark region", () => this.#mark(), { "aria-pressed": String(Boolean(this.#given.hinted)), id: "mark-region", "aria-label": "Mark the region" }),
      ].filter(Boolean),
    );
    this.#ledge(el("p", { class: "problem", id: "neck-problem", role: "alert" }), button("Check", () => this.check(), { class: "work" }));
  }

  #renameIt() {
    const frets = this.#neck.frets;
    delete this.#given.name;
    this.#parts = ["name", "frets"];
    this.#keep({ frets });
    this.#show({});
    this.focus();
  }

  #turn() {
    this.#neck.turn();
    const view = this.#places.tools.querySelector("#view");
    const [first, last] = this.#neck.otherView.match(/\d+/g);
    view.textContent = last ? `${first}–${last}` : "0–12";
    view.setAttribute("aria-label", `Show ${this.#neck.otherView}`);
  }

  #mark() {
    if (!this.#prompt.hint) return;
    this.#given.hinted = true;
    this.#neck.mark(this.#prompt.hint);
    this.#places.tools.querySelector("#mark-region").setAttribute("aria-pressed", "true");
    this.#keep({ frets: this.#neck.frets });
  }

  #checkNeck() {
    if (this.#neck.empty) {
      this.#places.ledge.querySelector("#neck-problem").textContent = "No string is set yet.";
      return;
    }
    this.#take("frets", this.#neck.frets);
  }

  #showNumbers() {
    this.#places.work.replaceChildren(
      el("div", { class: "number-pad" }, drawing(this.#prompt.drawing, "drawing question-drawing"), el("div", { class: "pad numbers", role: "group", "aria-label": "Number" },
        ["1", "2", "3", "4", "5", "6", "7"].map((number) => button(number, () => this.#take("number", number))))),
    );
    this.#ledge();
  }

  #showHands() {
    this.#ledge(button("Played", () => this.#calls.played(), { class: "work" }));
  }
}
