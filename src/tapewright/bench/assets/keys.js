// Single keys: y, n and c press the answer that carries them; / goes to the search, ? shows the keys there are.

const help = document.getElementById("keys-help");

export function pressedKeys() {
  for (const button of document.querySelectorAll("[data-key]")) {
    button.setAttribute("aria-keyshortcuts", button.dataset.key);
  }
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.defaultPrevented) return;
    if (event.target.matches("input:not([type=radio]):not([type=checkbox]):not([readonly]), textarea, select") && !yieldsKeys(event)) return;
    if (event.key === "?" && help) help.showModal();
    else {
      const pressed = document.querySelector(`main [data-key="${CSS.escape(event.key.toLowerCase())}"]`);
      if (!pressed || pressed.disabled || !pressed.checkVisibility()) return;
      event.preventDefault();
      if (pressed.matches("input, select")) pressed.focus();
      else pressed.click();
      return;
    }
    event.preventDefault();
  });
}

/** An empty box for a number lets a letter through to the answers beside it: no number begins with y, n or c. */
function yieldsKeys(event) {
  return event.target.matches("[inputmode=decimal]") && !event.target.value && "ync?/".includes(event.key.toLowerCase());
}
