// Files from the hand to the bench: dropped anywhere on a machine's page, pasted, chosen, or taken with the camera.
import { follow, row, say } from "./jobs.js";

const key = document.querySelector('meta[name="bench-key"]').content;
const machine = document.body.dataset.machine;
const LARGEST_TEXT = 500000;

// A file of text (a sheet, trials) belongs into the box of the page that takes it, to be looked at before it is taken.
const textBox = document.querySelector("textarea[data-takes-file]");

export function takeFiles() {
  if (!machine) return;
  for (const input of document.querySelectorAll("input[data-fills]")) {
    input.addEventListener("change", () => sendAll(input.files, null));
  }
  const form = document.querySelector("[data-drop]");
  for (const input of form ? form.querySelectorAll('input[type="file"]') : []) {
    input.addEventListener("change", () => sendAll(input.files, form));
  }
  if (form) form.addEventListener("submit", (event) => {
    event.preventDefault();
    sendAll(form.querySelector('input[name="file"]').files, form);
  });
  document.addEventListener("dragover", (event) => {
    event.preventDefault();
    document.body.classList.add("dragging");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) document.body.classList.remove("dragging");
  });
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    document.body.classList.remove("dragging");
    sendAll(event.dataTransfer.files, form);
  });
  document.addEventListener("paste", (event) => {
    if (event.clipboardData.files.length) sendAll(event.clipboardData.files, form);
  });
}

function sendAll(files, form) {
  for (const file of files) {
    if (textBox && /\.toml$/i.test(file.name)) fill(file);
    else send(file, form);
  }
}

async function fill(file) {
  if (file.size > LARGEST_TEXT) {
    say(`${file.name} is too long: at most ${LARGEST_TEXT} bytes.`);
    return;
  }
  textBox.value = await file.text();
  const folded = textBox.closest("details");
  if (folded) folded.open = true;
  textBox.focus();
  say(`${file.name} stands in the box. Look it over, then take it.`);
}

function send(file, form) {
  const fields = new URLSearchParams();
  for (const [name, value] of form ? new FormData(form) : []) {
    if (typeof value === "string" && value && name !== "bench-key") fields.set(name, value);
  }
  const title = `Sending ${file.name}`;
  const shown = row(`sending-${performance.now()}`, title);
  const request = new XMLHttpRequest();
  request.open("POST", `/machines/${machine}/arrivals?${fields}`);
  request.setRequestHeader("x-bench-key", key);
  request.setRequestHeader("x-file-name", encodeURIComponent(file.name));
  request.setRequestHeader("content-type", "application/octet-stream");
  request.upload.onprogress = (event) => {
    if (event.lengthComputable) shown.querySelector("progress").value = event.loaded / event.total;
  };
  request.onload = () => {
    shown.remove();
    const answer = JSON.parse(request.responseText || "{}");
    if (request.status === 202) follow(answer.job, `Reading ${file.name}`);
    else say(answer.says || "The bench did not take this file.");
  };
  request.onerror = () => {
    shown.remove();
    say("The bench did not answer. Is it still running? Nothing was stored; send the file again.");
  };
  say("");
  request.send(file);
}
