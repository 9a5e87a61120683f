// What a part of the page that is drawn anew keeps of what a person is at: forms with what was typed, the focus, and a button that
// asks for a second press.

const drawn = new WeakMap();

// What a button does, and what it asks before; nothing where it does not ask.
globalThis.goldwardQuestion = (button) => {
  const { act, value } = button.closest("[data-act]")?.dataset ?? {};
  return button.dataset.sure ? [act, value, button.dataset.sure].join(" ") : "";
};

// The fields of a form by their names.
globalThis.goldwardFields = (form) => {
  const value = (field) => (field.type === "checkbox" ? field.checked : field.value);
  return JSON.stringify(Object.fromEntries([...form.elements].map((field) => [field.name, value(field)])));
};

function redraw(root, html) {
  const focus = document.activeElement;
  const within = root.contains(focus);
  const forms = [...root.querySelectorAll("form")];
  root.innerHTML = html;
  for (const form of forms) root.querySelector(`form[id="${form.id}"]`)?.replaceWith(form);
  if (!within) return;
  const is = (other) => ["id", "data-act", "data-value"].every((a) => other.getAttribute(a) === focus.getAttribute(a));
  const again = root.contains(focus) ? focus : [...root.querySelectorAll("button, input, a")].find(is);
  again?.focus({ preventScroll: true });
}

// Shows that, and says on the button that has asked what a second press will do.
globalThis.goldwardDraw = (root, html, asked) => {
  if (drawn.get(root) !== html) redraw(root, html);
  drawn.set(root, html);
  for (const button of root.querySelectorAll("[data-sure]")) {
    const asks = asked !== "" && goldwardQuestion(button) === asked;
    button.dataset.plain ??= button.textContent;
    const text = asks ? button.dataset.sure : button.dataset.plain;
    if (button.textContent !== text) button.textContent = text;
  }
};
