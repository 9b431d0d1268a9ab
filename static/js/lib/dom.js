// Small things every page needs to put words and drawings on it.

export const byId = (id) => document.getElementById(id);

/** A new element: `el("p", { class: "quiet", onclick }, "text", child)`; null children are left out. */
export function el(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false && value != null) element.setAttribute(name, value);
  }
  element.append(...real(children));
  return element;
}

const real = (children) => children.flat().filter((child) => child != null && child !== false);

/** Puts children into an element in place of those it has; null children are left out. */
export const into = (element, ...children) => element.replaceChildren(...real(children));

/** A drawing from the service, as an element; a drawing that cannot be read leaves its place empty. */
export function drawing(svg, className = "drawing") {
  const figure = el("div", { class: className });
  if (!svg) return figure;
  const root = new DOMParser().parseFromString(svg, "image/svg+xml").documentElement;
  if (root.localName === "svg") figure.append(document.importNode(root, true));
  return figure;
}

/** Says a sentence to a screen reader, without moving anything. */
export function say(sentence) {
  const said = byId("said");
  said.textContent = "";
  requestAnimationFrame(() => (said.textContent = sentence));
}

/** Shows what went wrong where it happened, with a way to try again if there is one. */
export function trouble(place, sentence, again = null) {
  const button = again && el("button", { type: "button", class: "key", onclick: again }, "Try again");
  place.replaceChildren(el("div", { class: "notice", role: "alert" }, el("p", {}, sentence), button));
  place.scrollIntoView({ block: "nearest" });
}

export const DOUBLE_TAP = 300; // ms in which a second tap still belongs to what was tapped before

/** The outcome with its mark: filled is clean, half is late, open is missed. */
export function outcomeMark(outcome) {
  return el("span", { class: `mark-of ${outcome.replaceAll(" ", "-")}` }, el("span", { class: "dot", "aria-hidden": "true" }), outcome);
}

/** "1 minute", "5 minutes". */
export function count(number, one, many = `${one}s`) {
  return `${number} ${number === 1 ? one : many}`;
}

/** "E♭, box 2", or only the key. */
export const where = (key, box) => [key, box != null && `box ${box}`].filter(Boolean).join(", ");

/** Wires the − and + of every stepper inside `root`; a change is one `change` event. */
export function steppers(root) {
  root.addEventListener("click", (event) => {
    const button = event.target.closest("[data-step]");
    if (!button) return;
    const input = button.parentElement.querySelector("input");
    const step = Number(button.dataset.step);
    const next = Math.round((Number(input.value) || 0) / Math.abs(step)) * Math.abs(step) + step;
    input.value = Math.min(Number(input.max), Math.max(Number(input.min), next));
    input.dispatchEvent(new Event("change", { bubbles: true }));
  });
}
