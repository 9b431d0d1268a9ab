// The values of a jam in a form: filled in, read, and what is wrong beside its field.

export function fillForm(form, jam) {
  for (const name of ["name", "place"]) form.elements[name].value = jam[name] ?? "";
  form.elements.at.value = jam.local ?? "";
  for (const box of form.querySelectorAll("[name=boxes]")) box.checked = jam.boxes.includes(Number(box.value));
}

export const readForm = (form) => ({
  name: form.elements.name.value,
  at: form.elements.at.value,
  place: form.elements.place.value,
  boxes: [...form.querySelectorAll("[name=boxes]:checked")].map((box) => Number(box.value)),
});

/** Shows what is wrong; true if the form has the field. */
export function problem(form, field = null, sentence = "") {
  let shown = false;
  for (const place of form.querySelectorAll("[data-problem]")) {
    const mine = place.dataset.problem === field;
    place.textContent = mine ? sentence : "";
    shown ||= mine;
  }
  if (shown) form.querySelector(`[name="${field}"]`).focus();
  return shown;
}

export const zoneIn = (form, zone) => (form.querySelector("[data-zone]").textContent = `In your time zone, ${zone}; Settings change it.`);
