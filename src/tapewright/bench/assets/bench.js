// What every page does: jobs tell how far they are, files can be dropped, pasted or taken with the camera.
import { keepEntries } from "./forms.js";
import { followJobs } from "./jobs.js";
import { pressedKeys } from "./keys.js";
import { takeFiles } from "./send.js";

document.documentElement.classList.add("scripted");
keepEntries();
pressedKeys();
followJobs();
// A status that stands there when the page comes is not read out; one that changes is.
const said = document.querySelector("#says");
if (said && said.textContent.trim()) setTimeout(() => said.append("\u00a0"), 300);
takeFiles();
// Enter on a tick or a choice says nothing: only a button that somebody presses gives an answer.
document.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && event.target.matches('input[type="checkbox"], input[type="radio"]')) event.preventDefault();
});
