// What every page does: jobs tell how far they are, files can be dropped, pasted or taken with the camera.
import { followJobs } from "./jobs.js";
import { takeFiles } from "./send.js";

document.documentElement.classList.add("scripted");
followJobs();
takeFiles();
