// The page of a tune: what is typed and chosen goes to its editor.

import { byId, inputOf } from "../lib/dom.js";
import { onDoubled } from "../device/service.js";
import { Editor } from "../tunes/editor.js";
import { Saving } from "../tunes/saving.js";

const editor = new Editor();
const saving = new Saving(editor);

editor.form.addEventListener("input", (event) => editor.typed(inputOf(event).name));
editor.form.addEventListener("change", (event) => {
  const { name, value, files } = inputOf(event);
  if (["key", "time", "names", "slash", "minor_from"].includes(name)) editor.choose({ [name]: value || null });
  else if (name === "tempo" || name === "capo") editor.say(name, value === "" ? null : Number(value));
  else if (name === "feel" || name === "capo_chords") editor.say(name, value || null);
  else if (name === "file") editor.openFiles([...files ?? []]);
});
editor.form.addEventListener("submit", (event) => {
  event.preventDefault();
  saving.save();
});
byId("use-form").addEventListener("click", () => editor.useForm());
addEventListener("dragover", (event) => {
  if (event.dataTransfer?.types.includes("Files")) event.preventDefault();
});
addEventListener("drop", (event) => {
  const files = [...event.dataTransfer?.files ?? []];
  if (!files.length) return;
  event.preventDefault();
  editor.openFiles(files);
});
onDoubled(() => editor.unsaved && editor.keep());
document.addEventListener("visibilitychange", () => document.hidden || saving.lookAgain());
saving.open();
