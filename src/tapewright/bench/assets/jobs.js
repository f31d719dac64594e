// Jobs on the page: progress as it comes (server-sent events), and to the result when it is there.

const list = document.getElementById("jobs");
const says = document.getElementById("says");
const followed = new Set();
let events = null;

/** Follow what the page was drawn with; a reload finds running work again this way. */
export function followJobs() {
  for (const shown of document.querySelectorAll("[data-job]")) {
    if (shown.hasAttribute("data-follow")) followed.add(shown.dataset.job);
  }
  if (document.querySelector("[data-job]")) listen();
}

/** Show a job and go to its result when it is done. */
export function follow(job, title) {
  followed.add(job);
  row(job, title);
  listen();
}

/** A row with a title and a bar; `job` may be a word of our own while a file is on its way. */
export function row(job, title) {
  let shown = document.querySelector(`[data-job="${job}"]`);
  if (shown) return shown;
  shown = document.createElement("div");
  shown.className = "job";
  shown.dataset.job = job;
  const name = document.createElement("span");
  name.className = "job-title";
  name.textContent = title;
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.setAttribute("aria-label", title);
  shown.append(name, bar);
  list.append(shown);
  return shown;
}

export function say(words) {
  says.textContent = words;
}

function listen() {
  if (events) return;
  events = new EventSource("/events");
  events.addEventListener("job", (event) => change(JSON.parse(event.data)));
  // the browser comes back by itself to a bench that was started again; the work of the old one is gone
  let again = false;
  events.addEventListener("open", () => {
    if (again) document.querySelectorAll("[data-job]").forEach(stillThere);
    again = true;
  });
  window.addEventListener("pagehide", () => events.close());
}

async function stillThere(shown) {
  if (shown.dataset.job.startsWith("sending")) return;
  const answer = await fetch(`/jobs/${shown.dataset.job}.json`);
  if (answer.status !== 404) return;
  shown.remove();
  say("The bench was stopped in the middle of this, and nothing of it is in the book. Load the page again, then send the file again.");
  says.classList.add("notice");
}

function change(job) {
  const shown = document.querySelector(`[data-job="${job.id}"]`);
  if (!shown) return;
  shown.querySelector("progress").value = job.fraction;
  if (job.found) found(shown, job.found);
  if (job.state === "done") {
    shown.remove();
    if (followed.has(job.id)) window.location.assign(job.see);
    else offer(job);
  }
  if (job.state === "refused") {
    shown.remove();
    say(job.says);
    says.classList.add("notice");
  }
}

/** What came out stands there before it is in the book. */
function found(shown, words) {
  let line = shown.querySelector(".job-found");
  if (!line) {
    line = document.createElement("p");
    line.className = "job-found";
    shown.append(line);
  }
  line.textContent = `${words}. It is being written in the book.`;
}

function offer(job) {
  const link = document.createElement("a");
  link.href = job.see;
  link.textContent = "See the result.";
  says.replaceChildren(`${job.title}: done. `, link);
}
