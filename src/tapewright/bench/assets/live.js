// The live page: asks for a watch, draws what it tells, says what was turned. The watching itself is done elsewhere.
import { Needles } from "./needles.js";
import { Sounds } from "./sounds.js";

const live = document.getElementById("live");
const at = (id) => document.getElementById(id);
const key = document.querySelector('meta[name="bench-key"]').content;
const path = live.dataset.path;
const needles = new Needles(at("needles"), at("scale"));
const sounds = new Sounds(at("tone"), at("speak"), at("voice-says"));
const TEXT_KEPT = 400;
const CONTROL = /^.{2,}$/;
const took = [];
let events = null;
let held = false;
let text = "";
let trials = [];
let waiting = [];
let elements = 5;

/** Send something to the bench; say it when it is refused. */
async function send(action, fields = {}) {
  const body = new URLSearchParams(fields);
  try {
    const answer = await fetch(`${path}/${action}.json`, { method: "POST", headers: { "x-bench-key": key }, body });
    const said = await answer.json();
    if (!answer.ok) tell(said.says);
    return answer.ok;
  } catch {
    tell("The bench did not answer. Is it still running?");
    return false;
  }
}

function tell(words) {
  at("over").textContent = words;
}

/* what can be watched */

let offered = [];

async function ask() {
  const answer = await fetch(`${path}/offers`);
  if (!answer.ok) return;
  offered = (await answer.json()).sources;
  const usable = offered.filter((source) => source.available);
  at("source").replaceChildren(...usable.map((source) => new Option(source.what, source.source)));
  const not = offered.filter((source) => !source.available);
  at("why-not").replaceChildren(...not.map((source) => item(`${source.what}: ${source.why_not}.`)));
  at("not-here").hidden = !not.length;
  choose();
}

function choose() {
  const source = offered.find((each) => each.source === at("source").value);
  if (!source) return;
  at("found").replaceChildren(...source.found.map((place) => new Option(place, place)));
  // what somebody has typed already while the list was on its way stays
  if (!at("where").value && source.found.length === 1) [at("where").value] = source.found;
  const example = source.example.includes(":") ? source.example.slice(source.example.indexOf(":") + 1) : "";
  at("where").placeholder = example;
  at("source-says").textContent = source.found.length ? `Found here: ${source.found.join(", ")}.` : "";
}

function item(words) {
  const li = document.createElement("li");
  li.textContent = words;
  return li;
}

/* what is being watched */

function listen() {
  if (events) events.close();
  events = new EventSource(`${path}/events`);
  events.addEventListener("picture", (event) => picture(JSON.parse(event.data)));
  events.onmessage = (event) => take(JSON.parse(event.data));
  // stale needles must not pass for the line as it is
  events.onopen = () => { at("gone").hidden = true; };
  events.onerror = () => { at("gone").hidden = false; };
}

function showing(on) {
  at("show").hidden = !on;
  at("ask").hidden = on;
}

function picture(all) {
  showing(["starting", "watching", "ending"].includes(all.state));
  begin(all.elements);
  text = all.text;
  trials = all.trials;
  needles.all(all.before, all.needles);
  instrument(all.instrument);
  if (all.learning) learning(all.learning);
  if (all.figures) figures(all.figures);
  if (all.character) struck(all.character, false);
  draw();
  if (all.state === "ending") at("finding").textContent = "Measuring all of it.";
  if (all.state === "ended" || all.state === "refused") over(all);
}

function begin(count) {
  elements = count;
  needles.begin(elements);
  sounds.begin(elements);
}

function take(line) {
  if (line.kind === "over") over(line);
  else if (held) waiting.push(line);
  else now(line);
}

const kinds = {
  source: (line) => { begin(line.elements); instrument(line.instrument); at("finding").textContent = `Watching ${line.source}. Strike a few keys.`; },
  learning,
  learned: (line) => { if (line.again) { text = ""; needles.forget(); } at("finding").textContent = "Levels and speed are known."; instrument(line.instrument); },
  character: (line) => struck(line, true),
  typed: (line) => struck(line, true),
  figures,
  trial: (line) => { trials.push({ marked: line, compared: null }); needles.turned(); at("finding").textContent = "Marked. Now key some more: after eight characters it is compared."; },
  compared: (line) => { for (const each of trials) if (each.marked.number === line.number) each.compared = line; },
  lost: (line) => { at("odd").prepend(item(`The line was not seen${line.seconds ? ` for ${line.seconds.toFixed(2)} s` : ""}: ${line.why}.`)); },
  break: () => { at("finding").textContent = "The line went to space and stayed there: open loop, or the machine stopped in the middle."; },
  ending: () => { at("finding").textContent = "Measuring all of it."; },
};

function now(line) {
  kinds[line.kind]?.(line);
  draw();
}

function learning(line) {
  at("finding").textContent = line.what === "levels"
    ? "Learning the levels: strike a few keys." : "Learning the speed: strike some eight keys, or stop and say the speed.";
}

function struck(line, fresh) {
  const name = CONTROL.test(line.letter_or_figure);
  at("key").textContent = line.letter_or_figure || "?";
  at("key").classList.toggle("name", name);
  at("count").textContent = line.number;
  if (fresh) text = (text + line.text).slice(-TEXT_KEPT);
  if (line.unit_ms) at("unit").textContent = `${line.unit_ms.value.toFixed(2)} ms`;
  if (!line.needles) return;
  if (fresh) needles.take(line.needles);
  if (fresh && !line.kept_back) sounds.take(line.needles);
  if (fresh && line.on_line_unix_ms) measure(line.on_line_unix_ms);
}

/** How long from the edge to the drawn screen: taken after the browser has drawn. */
function measure(since) {
  requestAnimationFrame(() => setTimeout(() => {
    took.push(performance.timeOrigin + performance.now() - since);
    if (took.length > 500) took.shift();
    const sorted = took.toSorted ? took.toSorted((a, b) => a - b) : [...took].sort((a, b) => a - b);
    const [half, most] = [sorted[sorted.length >> 1], sorted[Math.floor(0.95 * (sorted.length - 1))]];
    live.dataset.median = half;
    live.dataset.p95 = most;
    live.dataset.drawn = Number(live.dataset.drawn || 0) + 1;
    at("quick").textContent = `From the edge on the line to this screen: ${half.toFixed(0)} ms, 95 of 100 within ${most.toFixed(0)} ms.`;
  }));
}

function figures(line) {
  at("baud").innerText = line.baud ? `${line.baud.value.toFixed(2)} Bd` : "not known";
  if (line.baud?.u) {
    const doubt = document.createElement("span");
    doubt.className = "doubt";
    doubt.textContent = ` ± ${(2 * line.baud.u).toFixed(2)}`;
    at("baud").append(doubt);
  }
  needles.figures(line.contacts);
  at("finding").textContent = finding(line);
}

/** The one thing to say: the contact that is farthest beyond its doubt. */
function finding(line) {
  let worst = null;
  for (const contact of line.contacts) {
    for (const [does, late] of [["closes", contact.closing_late_ms], ["opens", contact.opening_late_ms]]) {
      if (!late || late.u === null || Math.abs(late.value) <= 4 * late.u) continue;
      if (!worst || Math.abs(late.value) > Math.abs(worst.late.value)) worst = { contact, does, late };
    }
  }
  if (!worst) return line.proven ? "No contact is shown to be late or early." : `The speed is not proven yet: ${line.why}.`;
  const name = worst.contact.contact === "stop" ? "The stop contact" : `Contact ${worst.contact.contact}`;
  const way = worst.late.value > 0 ? "late" : "early";
  return `${name} ${worst.does} ${Math.abs(worst.late.value).toFixed(2)} ms ${way}, ±\u00a0${(2 * worst.late.u).toFixed(2)}.`;
}

function instrument(suspicions) {
  for (const each of suspicions) at("odd").append(item(`Mind: ${each.suspicion}: ${each.evidence}. ${each.do}`));
}

function draw() {
  const box = at("text");
  box.textContent = text.replaceAll("\r", "");
  box.scrollTop = box.scrollHeight;
  at("trials-part").hidden = !trials.length;
  at("trials").replaceChildren(...[...trials].reverse().map(told));
}

/** What a turn did, in words: only what is shown; the rest is named as within its doubt. */
function told(each) {
  const li = item(`${each.marked.label}: `);
  if (!each.compared) {
    li.append(each.marked.characters_before < 8 ? "too little was keyed before it to compare." : "key on, it is compared after eight characters.");
    return li;
  }
  const shown = each.compared.changes.filter((change) => change.shown);
  if (!shown.length) li.append("nothing is shown to have changed.");
  for (const change of shown) {
    const words = document.createElement("span");
    words.className = "change";
    const [sign, doubt] = [change.change.value < 0 ? "earlier" : "later", 2 * (change.change.u ?? 0)];
    const unit = change.change.unit;
    const by = unit === "ms" && change.what.includes("ing")
      ? `${Math.abs(change.change.value).toFixed(2)} ms ${sign}`
      : `${change.change.value.toFixed(3)} ${unit === "percent" ? "%" : unit}`;
    words.textContent = `${change.what}: ${change.before.value.toFixed(2)} before, ${change.after.value.toFixed(2)} after; ${by}, ± ${doubt.toFixed(2)}.`;
    li.append(words);
  }
  li.append(` (${each.compared.characters_before} characters before, ${each.compared.characters_after} after)`);
  return li;
}

function over(line) {
  if (events) events.close();
  if (held) hold();
  showing(false);
  const words = line.state === "ended" && line.see ? `${line.says} In the book. `.trimStart() : line.says;
  at("over").textContent = words;
  if (line.see) {
    const link = document.createElement("a");
    link.href = line.see;
    link.textContent = "See the figures of the whole watch";
    at("over").append(link);
    link.focus();
  }
  at("over").scrollIntoView({ block: "nearest" });
}

/* what the hands do */

function hold() {
  held = !held;
  at("hold").setAttribute("aria-pressed", String(held));
  at("hold").textContent = held ? "Go on" : "Hold";
  at("held").hidden = !held;
  if (!held) for (const line of waiting.splice(0)) now(line);
}

function turn(on) {
  at("turned").hidden = !on;
  at("turn").setAttribute("aria-expanded", String(on));
  if (on) at("label").focus();
}

at("source").addEventListener("change", () => { at("where").value = ""; choose(); });
at("start").addEventListener("submit", async (event) => {
  event.preventDefault();
  tell("");
  if (!(await send("start", new FormData(event.target)))) return;
  trials = [];
  text = "";
  at("odd").replaceChildren();
  at("finding").textContent = "Getting ready.";
  showing(true);
  at("turn").focus();
  listen();
});
at("hold").addEventListener("click", hold);
at("turn").addEventListener("click", () => { turn(true); send("hands-on"); });
at("never").addEventListener("click", async () => { await send("hands-off"); turn(false); at("turn").focus(); });
at("turned").addEventListener("submit", async (event) => {
  event.preventDefault();
  const label = at("label").value;
  if (await send("trial", { label })) { at("label").value = ""; turn(false); at("turn").focus(); }
});
at("stop").addEventListener("click", () => send("stop"));
document.addEventListener("keydown", (event) => {
  if (at("show").hidden || event.ctrlKey || event.metaKey || event.altKey) return;
  if (event.target.matches("input, select, textarea")) return;
  if (event.key === "h") hold();
  if (event.key === "t") { event.preventDefault(); at("turn").click(); }
});
window.addEventListener("pagehide", () => events?.close());

if (live.dataset.state !== "none") listen();
ask();
