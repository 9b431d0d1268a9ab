// The Neck page: any key and box with its seven chords, to look at.

import { byId, drawing, el, say, trouble } from "./dom.js";
import { startSending } from "./sending.js";
import { ask } from "./service.js";

const choice = byId("choice");
const shown = byId("shown");
let latest = 0;

const chosen = () => Object.fromEntries(new FormData(choice));

/** Takes the choice from the address, so that a page can be kept and sent. */
function fromAddress() {
  const wanted = new URLSearchParams(location.search);
  for (const input of choice.elements) {
    if (input.type === "radio" && wanted.has(input.name)) input.checked = wanted.get(input.name) === input.value;
  }
  for (const name of ["key", "box", "chords"]) {
    if (!choice.querySelector(`[name=${name}]:checked`)) choice.querySelector(`[name=${name}]`).checked = true;
  }
}

async function show() {
  const mine = ++latest;
  const { key, box, chords } = chosen();
  try {
    const neck = await ask("GET", `neck?key=${encodeURIComponent(key)}&box=${box}`);
    if (mine !== latest) return;
    byId("trouble").replaceChildren();
    put(neck, chords);
  } catch (error) {
    if (mine !== latest) return;
    shown.replaceChildren();
    trouble(byId("trouble"), error.message, show);
  }
  shown.removeAttribute("aria-busy");
}

function put(neck, chords) {
  const title = `${neck.key}, box ${neck.box}`;
  shown.replaceChildren(
    el("section", { class: "region-shown", "aria-labelledby": "region-title" },
      el("h2", { id: "region-title" }, title),
      el("p", { class: "quiet" }, `The region of ${neck.minor}’s minor pentatonic: frets ${neck.low} to ${neck.high}.`),
      drawing(neck.drawing, "drawing wide")),
    el("ul", { class: "cards" }, neck[chords === "sevenths" ? "sevenths" : "chords"].map(one)),
  );
  say(`${title}: seven chords.`);
}

function one(chord) {
  return el("li", { class: "card" },
    drawing(chord.drawing),
    el("div", {},
      el("h3", {}, el("span", { class: "number" }, chord.number), " ", chord.chord),
      el("p", { class: "quiet" }, chord.numeral, chord.shapes.length ? ` · shape ${chord.shapes.join(" or ")}` : ""),
      el("p", {}, chord.description)));
}

choice.addEventListener("change", () => {
  history.replaceState(null, "", `?${new URLSearchParams(chosen())}`);
  show();
});
choice.addEventListener("submit", (event) => event.preventDefault());
fromAddress();
startSending();
show();
