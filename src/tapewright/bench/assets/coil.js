// A recorded current: the trace with each closing and landing marked on it.
import { fetchArrays } from "./arrays.js";
import { Trace } from "./trace.js";

const part = document.getElementById("trace");
const says = document.getElementById("trace-says");
const COVERAGE = 2;

if (part) begin();

async function begin() {
  const base = window.location.pathname.replace(/[^/]*$/, part.dataset.entry);
  const [{ head }, twin] = await Promise.all([fetchArrays(`${base}/trace?columns=2`), fetch(`${base}.json`).then((a) => a.json())]);
  const closings = twin.result.closures;
  const first = part.dataset.from ? { from: Number(part.dataset.from), to: Number(part.dataset.to) } : { from: head.begin_s, to: head.end_s };
  const trace = new Trace(document.getElementById("trace-box"), `${base}/trace`, { begin: head.begin_s, end: head.end_s }, {
    drawUnder: (plot, look) => landings(plot, look, closings),
    drawOver: () => {},
    settled: ({ from, to }) => tell(from, to, closings),
  });
  const go = (way) => {
    const middle = (trace.view.from + trace.view.to) / 2;
    const span = first.to - first.from;
    const ahead = closings.map((c) => c.on_s + span / 2).filter((at) => way * (at - middle) > 1e-3 * span);
    const at = way > 0 ? ahead[0] : ahead[ahead.length - 1];
    if (at !== undefined) trace.show(at - 0.6 * span, at + 0.4 * span);
  };
  const moves = { ...trace.moves(), home: () => trace.show(first.from, first.to), next: () => go(1), previous: () => go(-1) };
  const keys = { "+": "in", "=": "in", "-": "out", ArrowLeft: "left", ArrowRight: "right", End: "all", Home: "home", n: "next", p: "previous" };
  for (const button of document.querySelectorAll("[data-move]")) button.addEventListener("click", () => moves[button.dataset.move]());
  trace.box.addEventListener("keydown", (event) => {
    const move = event.ctrlKey || event.altKey || event.metaKey ? null : keys[event.key];
    if (!move) return;
    event.preventDefault();
    moves[move]();
  });
  trace.show(first.from, first.to);
}

function landings(plot, look, closings) {
  const { ctx, bbox } = plot;
  const x = (at) => plot.valToPos(at, "x", true);
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  for (const closing of closings) {
    ctx.fillStyle = look.quiet;
    ctx.fillRect(x(closing.on_s) - 0.75, bbox.top, 1.5 * devicePixelRatio, bbox.height);
    const landing = closing.landing_ms;
    if (!landing) continue;
    const at = closing.on_s + landing.value / 1e3;
    const spread = (COVERAGE * (landing.u ?? 0)) / 1e3;
    ctx.globalAlpha = 0.25;
    ctx.fillStyle = look.proved;
    ctx.fillRect(x(at - spread), bbox.top, Math.max(2, x(at + spread) - x(at - spread)), bbox.height);
    ctx.globalAlpha = 1;
    ctx.fillRect(x(at) - devicePixelRatio, bbox.top, 2 * devicePixelRatio, bbox.height);
  }
  ctx.restore();
}

function tell(from, to, closings) {
  const seen = closings.filter((closing) => closing.on_s >= from && closing.on_s <= to);
  const landed = seen.filter((closing) => closing.landing_ms).map((closing) => `${closing.landing_ms.value.toFixed(2)} ms`);
  const words = landed.length ? `, landing after ${landed.slice(0, 6).join(", ")}` : "";
  says.textContent = `${from.toFixed(4)} s to ${to.toFixed(4)} s: ${seen.length} ${seen.length === 1 ? "closing" : "closings"}${words}.`;
}
