// The Settings page: every change is kept at once, or said to be wrong where it stands.

import { byId, trouble } from "./dom.js";
import { fill, problem, read } from "./fields.js";
import { startSending } from "./sending.js";
import { ask, Refused } from "./service.js";

const form = byId("fields");
const theme = byId("theme");

async function show() {
  try {
    const { settings } = await ask("GET", "player");
    byId("trouble").replaceChildren();
    fill(form, settings);
    form.addEventListener("change", keep);
  } catch (error) {
    trouble(byId("trouble"), error.message, show);
  }
}

async function keep(event) {
  const name = event.target.closest("[data-field]").dataset.field;
  try {
    await ask("PUT", "settings", read(form, name));
    problem(form, name, "");
    byId("saved").textContent = `Kept at ${new Date().toLocaleTimeString()}.`;
    byId("trouble").replaceChildren();
  } catch (error) {
    if (error instanceof Refused) problem(form, name, error.message);
    else trouble(byId("trouble"), `Not kept: ${error.message}`, () => keep(event));
  }
}

function showTheme() {
  const chosen = localStorage.getItem("theme") ?? "";
  for (const input of theme.querySelectorAll("input")) input.checked = input.value === chosen;
}

theme.addEventListener("change", (event) => {
  if (event.target.value) localStorage.setItem("theme", event.target.value);
  else localStorage.removeItem("theme");
  document.documentElement.dataset.theme = event.target.value;
});

byId("zones").replaceChildren(...(Intl.supportedValuesOf?.("timeZone") ?? []).map((zone) => new Option(zone)));
form.addEventListener("submit", (event) => event.preventDefault());
showTheme();
startSending();
show();
