// The line page: the trace with its characters and instants, the clouds of the rulers, the speed over time.
import uPlot from "./vendor/uplot.js";
import { fetchArrays, firstNotBelow } from "./arrays.js";
import { ink, whenLookChanges } from "./ink.js";
import { Trace } from "./trace.js";

const here = window.location.pathname;
const part = document.getElementById("trace");
const says = document.getElementById("trace-says");
const rows = document.getElementById("trace-rows");
const rulers = [...document.querySelectorAll(".rulers tbody tr")];
/** Smaller than this share of a unit, lateness could not be seen as a flag. */
const FLAG_UNITS = 0.03;
const MOST_IN_CLOUD = 150;
const MOST_IN_TABLE = 60;

if (part) begin();

async function begin() {
  const entry = part.dataset.entry;
  const base = here.replace(/[^/]*$/, entry);
  const document_ = fetch(`${base}.json`).then((answer) => answer.json());
  const [{ head, arrays }, { result }] = await Promise.all([fetchArrays(`${base}/marks`), document_]);
  new LinePage(base, head, arrays, result).start();
}

class LinePage {
  constructor(base, head, marks, result) {
    Object.assign(this, { base, head, marks, result });
    this.unit = (head.unit_ms || 0) / 1000;
    this.names = result.characters.map((character) => character.letter_or_figure);
    this.pinned = null;
    this.pointed = null;
  }

  start() {
    const ends = { begin: this.head.begin_s, end: this.head.end_s };
    this.first = { from: Number(part.dataset.from), to: Number(part.dataset.to) };
    this.trace = new Trace(document.getElementById("trace-box"), `${this.base}/trace`, ends, {
      drawUnder: (plot, look) => this.bands(plot, look),
      drawOver: (plot, look) => this.instants(plot, look),
      settled: () => this.tell(),
      levels: this.head.mark_is_high === false ? ["mark", "space"] : ["space", "mark"],
    });
    this.trace.show(this.first.from, this.first.to);
    this.keys();
    this.clouds();
    this.speed();
    this.overview();
    this.doubtful();
  }

  // ---- the trace

  bands(plot, look) {
    const { start_s: starts } = this.marks;
    const unitPx = this.pixels(plot);
    if (!this.unit || unitPx * 7.5 < 9) return;
    const { ctx, bbox } = plot;
    const ratio = devicePixelRatio;
    const elements = this.head.elements;
    ctx.save();
    clip(ctx, bbox);
    ctx.textAlign = "center";
    for (let i = this.firstCharacter(); i < starts.length && starts[i] < this.trace.view.to; i += 1) {
      const x = (k) => plot.valToPos(starts[i] + k * this.unit, "x", true);
      for (let k = 1; k <= elements && unitPx > 3; k += 1) {
        if (k % 2) {
          ctx.fillStyle = look.wash;
          ctx.fillRect(x(k), bbox.top, x(k + 1) - x(k), bbox.height);
        }
        if (unitPx < 15) continue;
        ctx.fillStyle = look.quiet;
        ctx.font = `${14 * ratio}px ${look.font}`;
        ctx.fillText(String(k), x(k + 0.5), bbox.top + 48 * ratio);
      }
      const name = this.names[i] ?? "";
      if (unitPx * 7 < 11 * name.length) continue;
      ctx.fillStyle = look.ink;
      ctx.font = `650 ${(unitPx > 8 ? 22 : 15) * ratio}px ${look.font}`;
      ctx.fillText(name, x(1 + elements / 2), bbox.top + 26 * ratio);
    }
    ctx.restore();
  }

  instants(plot, look) {
    const { at_s: at, late_ms: late, closing } = this.marks;
    if (!this.unit) return;
    const { ctx, bbox } = plot;
    const ratio = devicePixelRatio;
    const unitPx = this.pixels(plot);
    const chosen = this.pointed ?? this.pinned;
    ctx.save();
    clip(ctx, bbox);
    for (let i = firstNotBelow(at, this.trace.view.from); i < at.length && at[i] < this.trace.view.to; i += 1) {
      const marked = chosen && this.is(i, chosen);
      const flagged = unitPx > 10 && Math.abs(late[i]) > FLAG_UNITS * this.head.unit_ms;
      if (!marked && !flagged) continue;
      const x = plot.valToPos(at[i], "x", true);
      const ideal = plot.valToPos(at[i] - late[i] / 1000, "x", true);
      const y = closing[i] ? bbox.top + 66 * ratio : bbox.top + bbox.height - 26 * ratio;
      if (marked) {
        ctx.fillStyle = look.brass;
        ctx.fillRect(x - 1.5 * ratio, bbox.top, 3 * ratio, bbox.height);
      }
      ctx.fillStyle = marked ? look.brass : look.outside;
      ctx.fillRect(ideal - 0.75 * ratio, y - 8 * ratio, 1.5 * ratio, 16 * ratio);
      ctx.fillRect(Math.min(x, ideal), y - 3 * ratio, Math.abs(x - ideal), 6 * ratio);
      if (unitPx > 44 || (marked && unitPx > 30)) {
        ctx.font = `${14 * ratio}px ${look.font}`;
        ctx.textAlign = late[i] < 0 ? "right" : "left";
        ctx.fillText(signed(late[i]), x + (late[i] < 0 ? -6 : 6) * ratio, y + (closing[i] ? 5 : 18) * ratio);
      }
    }
    ctx.restore();
  }

  pixels(plot) {
    return (this.unit / (this.trace.view.to - this.trace.view.from)) * (plot.bbox.width / devicePixelRatio);
  }

  firstCharacter() {
    return Math.max(0, firstNotBelow(this.marks.start_s, this.trace.view.from - 9 * this.unit));
  }

  is(i, { contact, closing }) {
    return this.marks.contact[i] === contact && this.marks.closing[i] === closing;
  }

  /** In words and as a table: what is in view now. */
  tell() {
    const { from, to } = this.trace.view;
    const starts = this.marks.start_s;
    const seen = [];
    for (let i = this.firstCharacter(); i < starts.length && starts[i] < to; i += 1) {
      if (starts[i] + 7 * this.unit > from) seen.push(i);
    }
    const names = seen.slice(0, 40).map((i) => this.names[i]).join(" ");
    const more = seen.length > 40 ? `, and ${seen.length - 40} more` : "";
    const chosen = this.pointed ?? this.pinned;
    const marked = chosen ? ` Marked: ${this.markedIn(from, to, chosen)}.` : "";
    this.drawOverview();
    says.textContent = `${from.toFixed(4)} s to ${to.toFixed(4)} s: ${seen.length ? names : "no character"}${more}.${marked}`;
    rows.replaceChildren(...seen.slice(0, MOST_IN_TABLE).map((i) => this.row(i)));
  }

  markedIn(from, to, chosen) {
    const { at_s: at } = this.marks;
    let n = 0;
    for (let i = firstNotBelow(at, from); i < at.length && at[i] < to; i += 1) n += this.is(i, chosen) ? 1 : 0;
    return `${n} ${n === 1 ? "instant" : "instants"} of ${named(chosen)}`;
  }

  row(character) {
    const { start_s: starts, unit_ms: unit, late_ms: late, contact, closing, character: of } = this.marks;
    const words = [];
    for (let i = firstNotBelow(of, character); i < of.length && of[i] === character; i += 1) {
      words.push(`${contact[i] > this.head.elements ? "stop" : contact[i]} ${closing[i] ? "closes" : "opens"} ${signed(late[i])}`);
    }
    const cells = [this.names[character], starts[character].toFixed(5), Number.isNaN(unit[character]) ? "" : unit[character].toFixed(3), words.join(", ")];
    const row = document.createElement("tr");
    cells.forEach((words_, at) => {
      const cell = document.createElement("td");
      cell.textContent = words_;
      if (at === 1 || at === 2) cell.className = "number";
      row.append(cell);
    });
    return row;
  }

  // ---- moving about

  keys() {
    const moves = {
      ...this.trace.moves(),
      home: () => this.trace.show(this.first.from, this.first.to),
      next: () => this.toInstant(1),
      previous: () => this.toInstant(-1),
    };
    const keys = {
      "+": "in", "=": "in", "-": "out", ArrowLeft: "left", ArrowRight: "right", End: "all", Home: "home",
      n: "next", p: "previous",
    };
    for (const button of document.querySelectorAll("[data-move]")) {
      button.addEventListener("click", () => moves[button.dataset.move]());
    }
    this.trace.box.addEventListener("keydown", (event) => {
      const move = event.ctrlKey || event.altKey || event.metaKey ? null : keys[event.key];
      if (!move) return;
      event.preventDefault();
      moves[move]();
    });
  }

  /** To the next or the previous instant that is marked, or else that is late or early. */
  toInstant(way) {
    const { at_s: at, late_ms: late } = this.marks;
    const chosen = this.pinned;
    const span = Math.min(this.trace.view.to - this.trace.view.from, 12 * this.unit);
    const middle = (this.trace.view.from + this.trace.view.to) / 2;
    const wanted = (i) => (chosen ? this.is(i, chosen) : Math.abs(late[i]) > FLAG_UNITS * this.head.unit_ms);
    let i = firstNotBelow(at, middle + way * 1e-6) - (way < 0 ? 1 : 0);
    while (i >= 0 && i < at.length && !wanted(i)) i += way;
    if (at[i] !== undefined) this.trace.show(at[i] - span / 2, at[i] + span / 2);
  }

  doubtful() {
    for (const button of document.querySelectorAll("[data-at]")) {
      button.addEventListener("click", () => {
        const at = Number(button.dataset.at);
        this.trace.show(at - 3 * this.unit, at + 11 * this.unit);
        part.scrollIntoView({ block: "nearest" });
      });
    }
  }

  // ---- the rulers

  clouds() {
    let drawn = 0;
    let all = 0;
    for (const row of rulers) {
      const which = { contact: Number(row.dataset.contact), closing: Number(row.dataset.closing) };
      const own = this.own(which);
      const some = spreadOut(own, MOST_IN_CLOUD);
      drawn += some.length;
      all += own.length;
      const reach = Number(row.querySelector(".ruler").dataset.reach);
      row.querySelector(".cloud").replaceChildren(...some.map((late, i) => dot(50 + (50 * late) / reach, i)));
      this.listenTo(row, which);
    }
    const words = document.getElementById("cloud-says");
    if (words && drawn < all) words.textContent = `Of ${all} single instants ${drawn} are drawn, the farthest among them.`;
  }

  own(which) {
    const out = [];
    for (let i = 0; i < this.marks.at_s.length; i += 1) {
      if (this.is(i, which) && !Number.isNaN(this.marks.own_ms[i])) out.push(this.marks.own_ms[i]);
    }
    return out.sort((a, b) => a - b);
  }

  listenTo(row, which) {
    const button = row.querySelector("button");
    const point = (what) => {
      this.pointed = what;
      row.classList.toggle("marked", Boolean(what));
      this.trace.redraw();
    };
    row.addEventListener("pointerenter", () => point(which));
    row.addEventListener("pointerleave", () => point(null));
    button.addEventListener("focus", () => { point(which); this.tell(); });
    button.addEventListener("blur", () => point(null));
    button.addEventListener("click", () => {
      const again = this.pinned && this.pinned.contact === which.contact && this.pinned.closing === which.closing;
      this.pinned = again ? null : which;
      for (const other of rulers) other.querySelector("button").setAttribute("aria-pressed", String(!again && other === row));
      if (!again && !this.inView(which)) this.toInstant(1);
      this.trace.redraw();
      this.tell();
    });
  }

  inView(which) {
    return !this.markedIn(this.trace.view.from, this.trace.view.to, which).startsWith("0 ");
  }

  // ---- the whole recording in a strip: where the late and early instants are, and what is in view

  overview() {
    this.strip = document.getElementById("overview");
    const far = Array.from(this.marks.late_ms ?? []).filter((late) => Math.abs(late) > FLAG_UNITS * this.head.unit_ms).length;
    this.strip.setAttribute("aria-label", `The whole recording from ${this.head.begin_s.toFixed(2)} s to ${this.head.end_s.toFixed(2)} s, with ${far} late or early instants`);
    this.strip.addEventListener("click", (event) => {
      const box = this.strip.getBoundingClientRect();
      const at = this.head.begin_s + ((event.clientX - box.left) / box.width) * (this.head.end_s - this.head.begin_s);
      const span = Math.min(this.trace.view.to - this.trace.view.from, this.first.to - this.first.from);
      this.trace.show(at - span / 2, at + span / 2);
    });
    whenLookChanges(this.strip, () => this.drawOverview());
    this.drawOverview();
  }

  drawOverview() {
    const { strip, head, marks } = this;
    if (!strip) return;
    const look = ink();
    const ratio = devicePixelRatio;
    const width = (strip.width = strip.clientWidth * ratio);
    const height = (strip.height = strip.clientHeight * ratio);
    const ctx = strip.getContext("2d");
    const x = (time) => ((time - head.begin_s) / (head.end_s - head.begin_s || 1)) * width;
    ctx.fillStyle = look.line;
    ctx.fillRect(0, height / 2 - ratio / 2, width, ratio);
    const { from, to } = this.trace.view;
    ctx.fillStyle = look.wash;
    ctx.fillRect(x(from), 0, Math.max(3 * ratio, x(to) - x(from)), height);
    ctx.fillStyle = look.outside;
    // late above the middle, early below it, as far as a quarter of a unit
    for (let i = 0; i < (marks.at_s?.length ?? 0); i += 1) {
      const share = marks.late_ms[i] / head.unit_ms;
      if (Math.abs(share) <= FLAG_UNITS) continue;
      const tall = Math.min(1, Math.abs(share) * 4) * (height / 2);
      ctx.fillRect(x(marks.at_s[i]), share > 0 ? height / 2 - tall : height / 2, Math.max(1, ratio), tall);
    }
    ctx.strokeStyle = look.brass;
    ctx.lineWidth = 2 * ratio;
    ctx.strokeRect(x(from), ratio, Math.max(3 * ratio, x(to) - x(from)), height - 2 * ratio);
  }

  // ---- the speed

  speed() {
    const box = document.getElementById("speed-box");
    const { start_s: times, unit_ms: unit, unit_u_ms: u } = this.marks;
    if (!box || times.length < 2 || !unit) return;
    const known = (values) => Array.from(values, (value) => (Number.isNaN(value) ? null : value));
    const low = known(unit.map((value, i) => value - 2 * u[i]));
    const high = known(unit.map((value, i) => value + 2 * u[i]));
    const nominal = Number(box.dataset.nominal) || null;
    const data = [times, low, high, known(unit), Array(times.length).fill(nominal)];
    const range = speedRange(unit, u, nominal);
    let plot = null;
    const build = () => {
      plot?.destroy();
      const look = ink();
      const font = `14px ${look.font}`;
      const axis = { stroke: look.quiet, font, grid: { show: false }, ticks: { stroke: look.quiet, width: 1, size: 5 } };
      plot = new uPlot({
        width: box.clientWidth, height: box.clientHeight, legend: { show: false },
        cursor: { show: false, drag: { x: false, y: false } },
        scales: { x: { time: false }, y: { range: () => range } },
        axes: [
          { ...axis, size: 36, values: (_, at) => at.map((time, i) => `${time}${i === at.length - 1 ? " s" : ""}`) },
          { ...axis, size: (_, words) => 14 + 9 * Math.max(4, ...(words ?? []).map((word) => word.length)), values: (_, at) => at.map((value, i) => `${value}${i === at.length - 1 ? " ms" : ""}`) },
        ],
        series: [
          {}, { stroke: "transparent", points: { show: false } }, { stroke: "transparent", points: { show: false } },
          { stroke: look.ink, width: 1.5, points: { show: times.length < 60, size: 5, fill: look.ink } },
          { stroke: look.brass, width: 2, dash: [7, 5], points: { show: false } },
        ],
        bands: [{ series: [2, 1], fill: look.line }],
      }, data, box);
    };
    build();
    whenLookChanges(box, build);
  }
}

/** From the least to the greatest that most characters reach; a single wild one must not flatten all others. */
function speedRange(unit, u, nominal) {
  const sorted = Float32Array.from(unit.filter((value) => !Number.isNaN(value))).sort();
  const at = (share) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
  const middle = at(0.5);
  const doubts = Float32Array.from(u.filter((value) => !Number.isNaN(value))).sort();
  const doubt = 2 * (doubts[doubts.length >> 1] || 0);
  let spread = 1.3 * Math.max(at(0.98) - middle + doubt, middle - at(0.02) + doubt, middle * 0.002);
  if (nominal && Math.abs(nominal - middle) < 0.06 * middle) spread = Math.max(spread, 1.2 * Math.abs(nominal - middle));
  return [middle - spread, middle + spread];
}

/** At most so many of a sorted list, the first and the last among them. */
function spreadOut(sorted, most) {
  if (sorted.length <= most) return sorted;
  return Array.from({ length: most }, (_, i) => sorted[Math.round((i * (sorted.length - 1)) / (most - 1))]);
}

/** One instant of a cloud; its height has no meaning and only keeps neighbours apart. */
function dot(x, i) {
  const circle = document.createElementNS("http://www.w3.org/2000/svg", "circle");
  circle.setAttribute("cx", `${Math.min(100, Math.max(0, x)).toFixed(2)}%`);
  circle.setAttribute("cy", String(20 + (((i * 7) % 13) - 6) * 1.6));
  circle.setAttribute("r", "2.2");
  return circle;
}

function clip(ctx, { left, top, width, height }) {
  ctx.beginPath();
  ctx.rect(left, top, width, height);
  ctx.clip();
}

function signed(ms) {
  return `${ms < 0 ? "−" : "+"}${Math.abs(ms).toFixed(2)}`;
}

function named({ contact, closing }) {
  return `${contact === 6 ? "the stop contact" : `contact ${contact}`} ${closing ? "closing" : "opening"}`;
}
