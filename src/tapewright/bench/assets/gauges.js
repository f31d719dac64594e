// The number pad: its keys type into the reading's box, so that greasy fingers need no keyboard.
const box = document.getElementById("reading");

for (const key of document.querySelectorAll("[data-pad]")) {
  key.addEventListener("click", () => {
    if (key.dataset.pad === "back") box.value = box.value.slice(0, -1);
    else box.value += key.dataset.pad;
    box.focus();
  });
}
if (box && window.matchMedia("(pointer: fine)").matches) box.focus({ preventScroll: true });
