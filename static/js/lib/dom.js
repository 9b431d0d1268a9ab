// Small things every page needs to put words and drawings on it.

import { _, nameOf } from "./words.js";

/**
 * The element of the page with this id.
 * @template {HTMLElement} [T=HTMLElement]
 * @param {string} id
 * @param {new () => T} [kind] what it is, where that matters
 * @returns {T}
 */
export function byId(id, kind) {
  const element = document.getElementById(id);
  if (!(element instanceof (kind ?? HTMLElement))) throw new TypeError(`no #${id} on this page`);
  return /** @type {T} */ (element);
}

/**
 * The first element inside another that a selector finds.
 * @template {HTMLElement} [T=HTMLElement]
 * @param {ParentNode} place
 * @param {string} selector
 * @param {new () => T} [kind]
 * @returns {T}
 */
export function within(place, selector, kind) {
  const element = place.querySelector(selector);
  if (!(element instanceof (kind ?? HTMLElement))) throw new TypeError(`no ${selector} here`);
  return /** @type {T} */ (element);
}

/**
 * All elements inside another that a selector finds.
 * @template {HTMLElement} [T=HTMLElement]
 * @param {ParentNode} place
 * @param {string} selector
 * @param {new () => T} [kind]
 * @returns {T[]}
 */
export function all(place, selector, kind) {
  const wanted = kind ?? HTMLElement;
  return /** @type {T[]} */ ([...place.querySelectorAll(selector)].filter((element) => element instanceof wanted));
}

/**
 * A field of a form by its name: an input, unless `kind` says what else.
 * @template {Element} [T=HTMLInputElement]
 * @param {HTMLFormElement} form
 * @param {string} name
 * @param {new () => T} [kind]
 * @returns {T}
 */
export function control(form, name, kind) {
  const element = form.elements.namedItem(name);
  if (!(element instanceof (kind ?? HTMLInputElement))) throw new TypeError(`no field ${name} in this form`);
  return /** @type {T} */ (element);
}

/** The element that an event happened to. @type {(event: Event) => HTMLElement} */
export const targetOf = (event) => /** @type {HTMLElement} */ (event.target);

/** The input that an event happened to. @type {(event: Event) => HTMLInputElement} */
export const inputOf = (event) => /** @type {HTMLInputElement} */ (event.target);

/**
 * A new element: `el("p", { class: "quiet", onclick }, "text", child)`; null children are left out.
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} tag
 * @param {Dom.Attributes<HTMLElementTagNameMap[K]>} [attributes]
 * @param {...Dom.Children} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function el(tag, attributes, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (typeof value === "function") element.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value != null) element.setAttribute(name, String(value));
  }
  element.append(...real(children));
  return element;
}

/** @type {(children: Dom.Children[]) => (Node | string)[]} */
const real = (children) => /** @type {(Node | string)[]} */ (children.flat().filter((child) => child != null && child !== false));

/**
 * Puts children into an element in place of those it has; null children are left out.
 * @type {(element: Element, ...children: Dom.Children[]) => void}
 */
export const into = (element, ...children) => element.replaceChildren(...real(children));

/**
 * A drawing from the service, as an element; a drawing that cannot be read leaves its place empty.
 * @type {(svg: string | null | undefined, className?: string) => HTMLElement}
 */
export function drawing(svg, className = "drawing") {
  const figure = el("div", { class: className });
  if (!svg) return figure;
  const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  if (root.localName === "svg") figure.append(document.importNode(root, true));
  return figure;
}

/**
 * Says a sentence to a screen reader, without moving anything.
 * @type {(sentence: string) => void}
 */
export function say(sentence) {
  const said = byId("said");
  said.textContent = "";
  requestAnimationFrame(() => (said.textContent = sentence));
}

/**
 * Shows what went wrong where it happened, with a way to try again if there is one.
 * @type {(place: Element, sentence: string, again?: (() => unknown) | null) => void}
 */
export function trouble(place, sentence, again = null) {
  const button = again && el("button", { type: "button", class: "key", onclick: again }, _("Try again"));
  into(place, el("div", { class: "notice", role: "alert" }, el("p", {}, sentence), button));
  place.scrollIntoView({ block: "nearest" });
}

export const DOUBLE_TAP = 300; // ms in which a second tap still belongs to what was tapped before

/**
 * The outcome with its mark: filled is clean, half is late, open is missed.
 * @type {(outcome: Api.Outcome) => HTMLElement}
 */
export function outcomeMark(outcome) {
  return el("span", { class: `mark-of ${outcome.replaceAll(" ", "-")}` }, el("span", { class: "dot", "aria-hidden": "true" }), nameOf(outcome));
}

/**
 * "E♭, box 2", "D, open position" for box 0, or only the key.
 * @type {(key: string | null, box: number | null | undefined) => string}
 */
export function where(key, box) {
  if (box == null) return key ?? "";
  if (box === 0) return key ? _("{key}, open position", { key }) : _("open position");
  return key ? _("{key}, box {box}", { key, box }) : _("box {box}", { box });
}

/** What there is of several words, with a sign between. @type {(sign: string, ...words: (string | false | 0 | null | undefined)[]) => string} */
export const listed = (sign, ...words) => words.filter(Boolean).join(sign);

/**
 * Suggests a break after so many minutes of practice today; the page says after how many.
 * @type {(minutes: number) => void}
 */
export function suggestBreak(minutes) {
  const rest = byId("rest");
  rest.hidden = minutes < Number(rest.dataset.after);
}

/**
 * Wires the − and + of every stepper inside `root`; a change is one `change` event.
 * @type {(root: HTMLElement) => void}
 */
export function steppers(root) {
  root.addEventListener("click", (event) => {
    const button = /** @type {HTMLElement | null} */ (targetOf(event).closest("[data-step]"));
    const input = button?.parentElement?.querySelector("input");
    if (!button || !input) return;
    const step = Number(button.dataset.step);
    const next = Math.round((Number(input.value) || 0) / Math.abs(step)) * Math.abs(step) + step;
    input.value = String(Math.min(Number(input.max), Math.max(Number(input.min), next)));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  });
}
