// One card on the screen: the question, and the ways to answer it. The clock is not kept here.

import { ASKS } from "../lib/asks.js";
import { ChoicePad, NumberPad } from "./choice.js";
import { el, where } from "../lib/dom.js";
import { NamePad, normalName } from "./name.js";
import { NotePad } from "./notes.js";
import { ChordOnNeck, NotesOnNeck } from "./onneck.js";
import { Run } from "./run.js";
import { _ } from "../lib/words.js";

/** @typedef {{ big?: string | null, under?: string, wanted?: string, main?: boolean }} Heading */

/**
 * What stands in a question's heading where it is not number, key and box.
 * @type {Record<string, (prompt: Api.Prompt, part: Api.Part) => Heading>}
 */
const HEADINGS = {
  shape: () => ({ big: "?", under: "" }),
  tone: ({ sentence }) => ({ under: "", wanted: sentence, main: true }),
  spell: () => ({ under: "" }),
  "left-out": (_prompt, part) => ({ under: "", wanted: part === "name" ? _("What is it now?") : undefined }),
  bend: ({ sentence }) => ({ wanted: sentence, main: true }),
  "whose-key": ({ key, number, box }) => (key ? { wanted: _("Starts at which fret?") } : { big: _("fret {fret}", { fret: number }), under: _("box {box}", { box }) }),
  "box-notes": ({ number, key, box }) => (number ? {} : { big: key, under: _("box {box}", { box }), wanted: _("Tap the scale") }),
};

/**
 * The heading of a question: the number big, what is wanted beside it, key and box under it.
 * @type {(prompt: Api.Prompt, part: Api.Part, step?: number) => HTMLElement[]}
 */
export function asked(prompt, part, step = 0) {
  const { ask, steps } = prompt;
  /** @type {Heading} */
  const usual = { big: prompt.number ?? "?", under: where(prompt.key, prompt.box), wanted: ASKS[ask].wanted };
  const said = Object.entries(HEADINGS[ask]?.(prompt, part) ?? {}).filter(([, words]) => words !== undefined);
  /** @type {Heading} */
  const { big, under, wanted: what, main } = { ...usual, ...Object.fromEntries(said) };
  const wanted = prompt.rootless ? _("{what}, root optional", { what }) : what;
  const number = el("span", { class: "number", "aria-hidden": "true" }, big, prompt.seventh && el("small", {}, _("seventh")));
  const way = el("span", { class: "number way", "aria-hidden": "true" }, steps.map((each, index) => el("span", { class: index === step ? "here" : "" }, each)));
  return [
    el("span", { class: "unseen" }, prompt.sentence),
    steps.length ? way : number,
    ...(under ? [el("span", { class: "where", "aria-hidden": "true" }, under, prompt.at_nut && el("small", {}, _("open position")))] : []),
    el("span", { class: main ? "wanted main" : "wanted", "aria-hidden": "true" }, wanted),
  ];
}

/** @type {(label: string, onclick: () => unknown, attributes?: Record<string, unknown>) => HTMLButtonElement} */
const button = (label, onclick, attributes = {}) => el("button", { type: "button", class: "key", onclick, ...attributes }, label);

/** On the guitar: the clock stops with a word. */
class Hands {
  /** @type {HTMLElement[]} */
  tools = [];

  /** @param {Pick<Input.Options, "played">} how */
  constructor({ played }) {
    this.element = "";
    this.check = () => {}; // Only the button (or the space bar, on it) stops the clock.
    this.ledge = [button(_("Played"), () => played(), { class: "work" })];
  }

  /** @type {(touched: boolean) => boolean} */
  focus(touched) {
    if (!touched) this.ledge[0].focus();
    return !touched;
  }

  key() {
    return false;
  }
}

/**
 * The input of each part of an answer. All have an `element`, `tools` beside it and buttons for the `ledge`;
 * `focus(touched)` puts the focus where the answer goes (not after a touch, or the phone's own keyboard would come
 * up), `key(key)` takes a single key, `check()` is Enter.
 * @type {Record<Api.Part, new (options: never) => Input.Pad>}
 */
const INPUTS = {
  name: NamePad, frets: ChordOnNeck, number: NumberPad, hands: Hands, choice: ChoicePad, spots: NotesOnNeck, notes: NotePad, marks: Run,
};

/**
 * The inputs of one card. `answered(given)` is called once; `draft` is what had been put in before a reload,
 * `keep(draft)` hears every change of it, `played(seconds)` is called when what was asked has sounded (`seconds`
 * is the length of a run), and `touched()` says whether the last act was a touch.
 */
export class Card {
  /** @type {Api.Prompt} */ #prompt;
  /** @type {Input.Places} */ #places;
  /** @type {Api.Session} */ #session;
  /** @type {Input.Calls} */ #calls;
  /** @type {Api.Part[]} */ #parts;
  /** @type {Api.Given} */ #given;
  /** @type {Partial<Record<Api.Part, unknown>>} */ #drafts;
  /** @type {Input.Pad | null} */ #input = null;

  /** @param {Input.Calls & { prompt: Api.Prompt, session: Api.Session, places: Input.Places, draft: Input.Draft }} how */
  constructor({ prompt, session, places, draft, ...calls }) {
    this.#prompt = prompt;
    this.#session = session;
    this.#places = places;
    this.#calls = calls;
    this.#given = { ...draft.given };
    this.#drafts = { ...draft.inputs };
    this.#parts = prompt.parts.filter((part) => this.#given[part] === undefined);
    this.#show();
  }

  focus() {
    if (!this.#input?.focus(this.#calls.touched())) this.#places.title.focus({ preventScroll: true });
  }

  remove() {
    this.#input?.remove?.();
    this.#input = null;
    for (const slot of [this.#places.work, this.#places.tools, this.#places.ledge]) slot.replaceChildren();
  }

  /** Enter: the one action of this card. */
  check() {
    this.#input?.check?.();
  }

  /**
   * A single key of the keyboard; true if it meant something here.
   * @type {(key: string) => boolean}
   */
  key(key) {
    if (this.#input?.key(key)) return true;
    if (key.toLowerCase() !== "s") return false;
    this.#showMe();
    return true;
  }

  #showMe() {
    this.#calls.answered({ ...this.#given, shown: true });
  }

  /** @type {(part: Api.Part, value: unknown) => void} */
  #take(part, value) {
    this.#given = { ...this.#given, [part]: value };
    this.#parts.shift();
    if (this.#parts.length === 0) return this.#calls.answered(this.#given);
    this.#keep();
    this.#show();
    return this.focus();
  }

  /**
   * Back to a part that has been answered, to give it anew; what stands on the others stays.
   * @type {(part: Api.Part) => void}
   */
  #goBack(part) {
    delete this.#given[part];
    delete this.#drafts[part];
    this.#parts.unshift(part);
    this.#keep();
    this.#show();
    this.focus();
  }

  #keep() {
    this.#calls.keep({ given: this.#given, inputs: this.#drafts });
  }

  #hint() {
    this.#given.hinted = true;
    this.#keep();
  }

  #show() {
    this.remove();
    const [part] = this.#parts;
    const { main, title, work, tools, ledge } = this.#places;
    main.dataset.part = part;
    /** @type {(n: number) => void} */
    const step = (n) => title.replaceChildren(...asked(this.#prompt, part, n));
    step(0);
    const showMe = button(_("Show me"), () => this.#showMe());
    /** @type {Input.Options} */
    const options = {
      prompt: this.#prompt,
      settings: this.#session.settings,
      tempo: this.#session.tempo,
      beatSeconds: this.#session.beat_seconds,
      draft: this.#drafts[part],
      last: this.#parts.length === 1,
      hinted: this.#given.hinted,
      showMe,
      changed: (draft) => {
        this.#drafts[part] = draft;
        this.#keep();
      },
      done: (value) => this.#take(part, value),
      hint: () => this.#hint(),
      played: this.#calls.played,
      stepped: step,
    };
    // Each input knows the form of the draft that it kept itself.
    const input = new INPUTS[part](/** @type {never} */ (options));
    this.#input = input;
    work.replaceChildren(input.element);
    tools.replaceChildren(...this.#earlier(), ...input.tools);
    ledge.replaceChildren(showMe, ...input.ledge);
  }

  /** Buttons that lead back to what has been answered already. */
  #earlier() {
    const { name, choice } = this.#given;
    /** @type {(part: Api.Part, label: string, words: string) => HTMLButtonElement} */
    const back = (part, label, words) => button(label, () => this.#goBack(part), { "aria-label": words });
    const printed = name && (normalName(name) ?? name);
    const missing = choice?.[0];
    return [
      ...(printed ? [back("name", printed, _("Named {chord}: change it", { chord: printed }))] : []),
      ...(missing ? [back("choice", missing, _("Missing: {tone}. Change it", { tone: missing }))] : []),
    ];
  }
}
