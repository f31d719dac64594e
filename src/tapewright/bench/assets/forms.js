// Entries: what is typed is kept until it is sent, sent without leaving the page, and refused where it was given.
//
//   typed --kept in this browser--> sent --taken--> the page that shows it
//                                        --refused--> the reason beside the box, the text still in it
//                                        --no answer--> waits in this browser, and is sent once when the bench is back

const key = document.querySelector('meta[name="bench-key"]');
const says = document.getElementById("says");
const QUEUE = "tapewright-waiting";
const TRY_EVERY_MS = 3000;
const TYPED = "input:not([type=hidden]):not([type=checkbox]):not([type=radio]):not([type=file]), textarea, select";

export function keepEntries() {
  const told = sessionStorage.getItem("tapewright-says");
  if (told) {
    sessionStorage.removeItem("tapewright-says");
    says.textContent = told;
  }
  for (const form of document.querySelectorAll("form[method=post]:not([data-drop]):not([data-own]):not(.units)")) {
    restore(form);
    form.addEventListener("input", () => keep(form));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      submit(form, event.submitter);
    });
  }
  window.addEventListener("online", sendWaiting);
  setInterval(sendWaiting, TRY_EVERY_MS);
  showWaiting();
  sendWaiting();
}

// ---- drafts

function draftName(form) {
  const which = [...form.querySelectorAll("input[type=hidden]")].filter((field) => field.name !== "bench-key").map((field) => field.value);
  return `tapewright-draft ${new URL(form.action).pathname} ${which.join(" ")}`;
}

function keep(form) {
  const typed = {};
  for (const field of form.querySelectorAll(TYPED)) {
    if (field.name && field.value !== given(field)) typed[field.name] = field.value;
  }
  if (Object.keys(typed).length) put(draftName(form), typed);
  else localStorage.removeItem(draftName(form));
}

/** What stood in a field when the page came. */
function given(field) {
  if (field.tagName !== "SELECT") return field.defaultValue;
  return ([...field.options].find((option) => option.defaultSelected) || field.options[0])?.value;
}

function restore(form) {
  const typed = take(draftName(form));
  let back = false;
  for (const field of form.querySelectorAll(TYPED)) {
    if (!(field.name in typed) || field.value === typed[field.name]) continue;
    field.value = typed[field.name];
    back = true;
    const folded = field.closest("details");
    if (folded) folded.open = true;
  }
  if (back) beside(form, "What you had typed is still here.", "status");
}

// ---- sending

async function submit(form, pressed) {
  if (form.dataset.sending) return;
  const entry = { id: newId(), action: new URL(form.action).pathname, fields: [], at: Date.now() };
  for (const [name, value] of new FormData(form, pressed)) {
    if (typeof value === "string" && name !== "bench-key") entry.fields.push([name, value]);
  }
  form.dataset.sending = "yes";
  const { answer, document_ } = await send(entry);
  delete form.dataset.sending;
  if (!answer) {
    put(QUEUE, [...take(QUEUE, []), entry]);
    localStorage.removeItem(draftName(form));
    form.reset();
    showWaiting();
    return;
  }
  if (answer.ok) {
    localStorage.removeItem(draftName(form));
    go(document_);
    return;
  }
  keep(form);
  beside(form, document_.says || "The bench did not take this.", "alert");
}

/** Send an entry; gives the answer and what it holds, neither when the bench does not answer. */
async function send(entry) {
  try {
    let answer = await post(entry);
    // a bench that was started again has new keys: ask for them once, then send again
    if (answer.status === 403 && (await newKey())) answer = await post(entry);
    return { answer, document_: await answer.json().catch(() => ({})) };
  } catch {
    return { answer: null, document_: {} };
  }
}

function post(entry) {
  return fetch(`${entry.action}.json`, {
    method: "POST", headers: { "x-bench-key": key.content, "x-bench-once": entry.id }, body: new URLSearchParams(entry.fields),
  });
}

async function newKey() {
  const page = await fetch("/", { cache: "no-store" });
  const found = (await page.text()).match(/name="bench-key" content="([^"]+)"/);
  if (!page.ok || !found) return false;
  key.content = found[1];
  for (const field of document.querySelectorAll('input[name="bench-key"]')) field.value = found[1];
  return true;
}

function go({ see, says: words }) {
  if (words) sessionStorage.setItem("tapewright-says", words);
  const to = new URL(see, window.location.href);
  const same = to.pathname === window.location.pathname && to.search === window.location.search;
  if (same) {
    window.location.hash = to.hash;
    window.location.reload();
  } else window.location.assign(to);
}

// ---- entries that wait for the bench

let sending = false;

async function sendWaiting() {
  if (sending || !take(QUEUE, []).length) return;
  sending = true;
  let sent = null;
  for (let entry = take(QUEUE, [])[0]; entry; entry = take(QUEUE, [])[0]) {
    const { answer, document_ } = await send(entry);
    if (!answer || answer.status >= 500) break;
    put(QUEUE, take(QUEUE, []).filter((each) => each.id !== entry.id));
    if (answer.ok) sent = document_;
    else refusedLater(entry, document_.says);
  }
  sending = false;
  showWaiting();
  if (sent && !take(QUEUE, []).length) go(sent);
}

/** An entry that waited and was then refused goes back to where it was typed. */
function refusedLater(entry, why) {
  const hidden = (name) => !document.querySelector(`main [name="${CSS.escape(name)}"]:not([type=hidden])`);
  const words = entry.fields.filter(([, value]) => value).map(([name, value]) => (hidden(name) ? value : `${name} ${value}`));
  says.textContent = `An entry that waited was not taken: ${why || "no reason was given"} You had typed: ${words.join(", ")}`;
  says.classList.add("notice");
}

function showWaiting() {
  const waiting = take(QUEUE, []).length;
  document.body.dataset.waiting = String(waiting);
  if (!waiting) return;
  const many = waiting === 1 ? "One entry is" : `${waiting} entries are`;
  says.textContent = `The bench does not answer. ${many} kept in this browser and sent as soon as it is back.`;
}

// ---- small things

/** Words beside the box they are about; a refusal is read out, and the box says that it is one. */
function beside(form, words, role) {
  let line = form.querySelector(".form-says");
  if (!line) {
    line = document.createElement("p");
    line.className = "form-says";
    line.id = `says-${document.querySelectorAll(".form-says").length + 1}`;
  }
  const box = [...form.querySelectorAll(TYPED)].find((field) => field.value && field.type !== "submit");
  const after = box?.closest("p, label") || form.querySelector("button:not(.presses-nothing)")?.parentElement;
  if (after && after !== form) after.after(line);
  else form.prepend(line);
  line.setAttribute("role", role);
  line.classList.toggle("refusal", role === "alert");
  line.textContent = words;
  if (role !== "alert") return;
  if (box) {
    box.setAttribute("aria-invalid", "true");
    box.setAttribute("aria-describedby", `${box.getAttribute("aria-describedby") || ""} ${line.id}`.trim());
    box.focus();
  } else line.scrollIntoView({ block: "nearest" });
}

function newId() {
  return [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

function take(name, otherwise = {}) {
  try {
    return JSON.parse(localStorage.getItem(name)) ?? otherwise;
  } catch {
    return otherwise;
  }
}

function put(name, value) {
  try {
    localStorage.setItem(name, JSON.stringify(value));
  } catch {
    says.textContent = "This browser keeps nothing: what you type is lost when the page goes.";
  }
}
