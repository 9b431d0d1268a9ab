// The one thing on a sheet that needs a script: a button that prints it.

import { byId } from "../lib/dom.js";

const print = byId("print");
print.hidden = false;
print.addEventListener("click", () => window.print());
