// The tape page: the picture with rings, to be moved and zoomed; a hole that is chosen is shown close up with its numbers.
import { ink, whenLookChanges } from "./ink.js";

const part = document.getElementById("tape");
const CLOSER = 0.6;
const FETCH_AFTER_MS = 60;
/** Rings are drawn where a step of the grid has so many pixels on the screen, numbers from a little more on. */
const RINGS_FROM_PX = 5;
const WORDS_FROM_PX = 26;
const INCH_MM = 25.4;

if (part) begin();

async function begin() {
  const base = part.dataset.base;
  const twin = await (await fetch(`${base}.json`)).json();
  new TapePage(base, twin).start();
}

class TapePage {
  constructor(base, twin) {
    this.base = base;
    this.result = twin.result;
    this.letters = twin.strips.map((strip) => strip.names);
    this.box = document.getElementById("tape-box");
    this.whole = { w: this.result.source.width_px, h: this.result.source.height_px };
    this.step = 2.54 * (this.result.scale.px_per_mm?.value || 10);
    this.chosen = null;
    this.image = null;
    this.inches = document.getElementById("units-word")?.textContent.includes("inches");
  }

  start() {
    this.size();
    this.whole_view();
    this.listen();
    whenLookChanges(this.box, () => { this.size(); this.show(this.view); });
    const first = this.partial(1, { strip: 0, row: -1, track: 0 });
    if (first) this.choose(first);
  }

  size() {
    const ratio = devicePixelRatio;
    this.box.width = this.box.clientWidth * ratio;
    this.box.height = this.box.clientHeight * ratio;
    this.look = ink();
  }

  // ---- the view: {x, y} of its left upper corner and {s} screen pixels for one pixel of the picture

  whole_view() {
    const s = Math.min(this.box.clientWidth / this.whole.w, this.box.clientHeight / this.whole.h);
    const { w, h } = this.whole;
    this.show({ s, x: w / 2 - this.box.clientWidth / s / 2, y: h / 2 - this.box.clientHeight / s / 2 });
  }

  show(view) {
    const least = 0.8 * Math.min(this.box.clientWidth / this.whole.w, this.box.clientHeight / this.whole.h);
    const s = Math.min(Math.max(view.s, least), 12);
    const w = this.box.clientWidth / s;
    const h = this.box.clientHeight / s;
    const within = (at, size, all) => (size > all ? (all - size) / 2 : Math.min(Math.max(at, -0.1 * size), all - 0.9 * size));
    this.view = { s, x: within(view.x, w, this.whole.w), y: within(view.y, h, this.whole.h) };
    this.draw();
    clearTimeout(this.fetching);
    this.fetching = setTimeout(() => this.fetch(), FETCH_AFTER_MS);
  }

  zoom(factor, at = { x: this.box.clientWidth / 2, y: this.box.clientHeight / 2 }) {
    const { x, y, s } = this.view;
    const now = Math.min(s * factor, 12);
    this.show({ s: now, x: x + at.x / s - at.x / now, y: y + at.y / s - at.y / now });
  }

  fetch() {
    const { x, y, s } = this.view;
    const left = Math.max(0, Math.floor(x));
    const top = Math.max(0, Math.floor(y));
    const width = Math.min(this.whole.w, Math.ceil(x + this.box.clientWidth / s)) - left;
    const height = Math.min(this.whole.h, Math.ceil(y + this.box.clientHeight / s)) - top;
    if (width <= 0 || height <= 0) return;
    const columns = Math.max(1, Math.min(2400, Math.round(width * s * devicePixelRatio)));
    const image = new Image();
    image.onload = () => {
      this.image = { image, left, top, width, height };
      this.box.dataset.drawn = String(Number(this.box.dataset.drawn || 0) + 1);
      this.draw();
    };
    image.src = `${this.base}/picture?x=${left}&y=${top}&w=${width}&h=${height}&columns=${columns}`;
  }

  // ---- drawing

  draw() {
    const ctx = this.box.getContext("2d");
    const ratio = devicePixelRatio;
    const { x, y, s } = this.view;
    ctx.setTransform(1, 0, 0, 1, 0, 0);
    ctx.clearRect(0, 0, this.box.width, this.box.height);
    ctx.setTransform(ratio, 0, 0, ratio, 0, 0);
    if (this.image) {
      const { image, left, top, width, height } = this.image;
      ctx.drawImage(image, (left - x) * s, (top - y) * s, width * s, height * s);
    }
    const step = this.step * s;
    if (step >= RINGS_FROM_PX) {
      for (const [number, strip] of this.result.strips.entries()) {
        for (const row of strip.rows) if (this.inside(row, 4 * this.step)) this.ring_row(ctx, row, step, number);
      }
    }
    if (this.chosen) this.ring_chosen(ctx, step);
  }

  inside({ x_px: px, y_px: py }, room) {
    const { x, y, s } = this.view;
    return px > x - room && py > y - room && px < x + this.box.clientWidth / s + room && py < y + this.box.clientHeight / s + room;
  }

  at({ x_px: px, y_px: py }) {
    return [(px + 0.5 - this.view.x) * this.view.s, (py + 0.5 - this.view.y) * this.view.s];
  }

  ring_row(ctx, row, step, strip) {
    const [x, y] = this.at(row);
    ctx.lineWidth = Math.max(1, step / 22);
    ctx.strokeStyle = "#1d5fae";
    ctx.strokeRect(x - 0.28 * step, y - 0.28 * step, 0.56 * step, 0.56 * step);
    for (const hole of row.holes) this.ring(ctx, hole, step);
    if (step < WORDS_FROM_PX) return;
    const [ax, ay] = this.at(row.holes[4]);
    const [bx, by] = this.at(row.holes[0]);
    const long = Math.hypot(ax - bx, ay - by) || 1;
    outlined(ctx, this.letters[strip][row.row] ?? "", ax + ((ax - bx) / long) * step, ay + ((ay - by) / long) * step, Math.min(22, 0.5 * step), this.look.font);
  }

  ring(ctx, hole, step) {
    const [x, y] = this.at(hole);
    const radius = 0.44 * step;
    ctx.beginPath();
    if (hole.state === "clean") {
      ctx.strokeStyle = "#0d6b5b";
      ctx.arc(x, y, radius, 0, 7);
    } else if (hole.state === "partial") {
      ctx.strokeStyle = "#c02a0a";
      ctx.lineWidth *= 2;
      ctx.arc(x, y, radius, 0.35, 2.8);
      ctx.moveTo(x + radius * Math.cos(3.5), y + radius * Math.sin(3.5));
      ctx.arc(x, y, radius, 3.5, 5.95);
    } else if (hole.state !== "doubtful") {
      ctx.strokeStyle = "#6b6f75";
      const arm = 0.08 * step;
      ctx.moveTo(x - arm, y);
      ctx.lineTo(x + arm, y);
      ctx.moveTo(x, y - arm);
      ctx.lineTo(x, y + arm);
    }
    ctx.stroke();
    if (hole.state === "doubtful") outlined(ctx, "?", x, y, Math.max(14, 0.5 * step), this.look.font, "#c02a0a");
    if (hole.state === "partial") {
      ctx.lineWidth /= 2;
      if (step > WORDS_FROM_PX / 2) outlined(ctx, `${Math.round(100 * hole.open_fraction)}%`, x, y - radius - 4, Math.max(11, Math.min(18, 0.36 * step)), this.look.font, "#c02a0a");
    }
  }

  ring_chosen(ctx, step) {
    const [x, y] = this.at(this.hole(this.chosen));
    const half = Math.max(0.62 * step, 9);
    for (const [colour, width] of [["#fffdf7", 6], ["#8a6116", 3]]) {
      ctx.strokeStyle = colour;
      ctx.lineWidth = width;
      ctx.strokeRect(x - half, y - half, 2 * half, 2 * half);
    }
  }

  // ---- choosing a hole

  hole({ strip, row, track }) {
    return this.result.strips[strip].rows[row].holes[track - 1];
  }

  choose(which, bring = true) {
    this.chosen = which;
    const hole = this.hole(which);
    const { strip, row, track } = which;
    const name = this.letters[strip][row] ?? "";
    document.getElementById("hole-title").textContent = `Track ${track}, row ${row}, ${name}: ${hole.state === "absent" ? "no hole" : hole.state}`;
    this.closeUp(which);
    document.getElementById("hole-ring").removeAttribute("hidden");
    document.getElementById("hole-says").replaceChildren(...pairs([
      ["Open", hole.state === "absent" ? null : `${Math.round(100 * hole.open_fraction)} %`],
      ["Diameter", this.mm(hole.diameter_mm)], ["Along, later +", this.mm(hole.along_mm, true)],
      ["Across, to track 5 +", this.mm(hole.across_mm, true)],
      ["Code", this.result.strips[strip].rows[row].code],
    ]));
    for (const button of document.querySelectorAll(".hole")) {
      const { strip: s, row: r, track: t } = button.dataset;
      button.setAttribute("aria-pressed", String(Number(s) === strip && Number(r) === row && Number(t) === track));
    }
    if (bring) this.bring(hole);
    else this.draw();
  }

  /** The picture of the hole, put in its place when it is there and still the one that is wanted. */
  closeUp(which) {
    const { strip, row, track } = which;
    const picture = new Image(220, 220);
    picture.id = "hole-picture";
    picture.alt = `Track ${track}, row ${row}, close up; the tape runs to the right`;
    picture.onload = () => {
      if (this.chosen !== which) return;
      document.getElementById("hole-picture")?.remove();
      document.getElementById("hole-frame").prepend(picture);
    };
    picture.src = `${this.base}/hole?strip=${strip}&row=${row}&track=${track}&side=440`;
  }

  mm(value, signed = false) {
    if (value === null || value === undefined) return null;
    const sign = signed && value > 0 ? "+" : "";
    return this.inches ? `${sign}${(value / INCH_MM).toFixed(4)} in` : `${sign}${value.toFixed(3)} mm`;
  }

  /** Into the middle of the view, near enough to be seen. */
  bring(hole) {
    const s = Math.max(this.view.s, 30 / this.step);
    this.show({ s, x: hole.x_px - this.box.clientWidth / s / 2, y: hole.y_px - this.box.clientHeight / s / 2 });
  }

  nearest(x, y) {
    let best = null;
    let near = 0.7 * this.step * this.view.s + 8;
    for (const [strip, { rows }] of this.result.strips.entries()) {
      for (const row of rows) {
        if (!this.inside(row, 4 * this.step)) continue;
        for (const hole of row.holes) {
          const [hx, hy] = this.at(hole);
          const away = Math.hypot(hx - x, hy - y);
          if (away < near) [near, best] = [away, { strip, row: row.row, track: hole.track }];
        }
      }
    }
    return best;
  }

  partial(way, from) {
    const all = [];
    for (const [strip, { rows }] of this.result.strips.entries()) {
      for (const row of rows) for (const hole of row.holes) if (hole.state === "partial" || hole.state === "doubtful") all.push({ strip, row: row.row, track: hole.track });
    }
    const order = ({ strip, row, track }) => (strip * 1e6 + row) * 8 + track;
    const here = order(from);
    const ahead = way > 0 ? all.filter((each) => order(each) > here) : all.filter((each) => order(each) < here).reverse();
    return ahead[0] ?? null;
  }

  to_partial(way) {
    const found = this.partial(way, this.chosen ?? { strip: 0, row: -1, track: 0 });
    if (found) this.choose(found);
  }

  /** The neighbour of the chosen hole; left and right as on the screen are rows, up and down tracks. */
  neighbour(rows, tracks) {
    const { strip, row, track } = this.chosen ?? { strip: 0, row: 0, track: 1 };
    const { turned } = this.result.strips[strip];
    const last = this.result.strips[strip].rows.length - 1;
    const next = Math.min(last, Math.max(0, row + (turned ? -rows : rows)));
    const [first, fifth] = [this.hole({ strip, row, track: 1 }), this.hole({ strip, row, track: 5 })];
    const down = fifth.y_px >= first.y_px ? tracks : -tracks;
    this.choose({ strip, row: next, track: Math.min(5, Math.max(1, track + down)) });
  }

  // ---- hands and keys

  listen() {
    const moves = {
      in: () => this.zoom(1 / CLOSER), out: () => this.zoom(CLOSER), all: () => this.whole_view(),
      next: () => this.to_partial(1), previous: () => this.to_partial(-1),
    };
    for (const button of document.querySelectorAll("[data-move]")) button.addEventListener("click", () => moves[button.dataset.move]());
    const keys = {
      "+": moves.in, "=": moves.in, "-": moves.out, Home: moves.all, n: moves.next, p: moves.previous,
      ArrowLeft: () => this.neighbour(-1, 0), ArrowRight: () => this.neighbour(1, 0),
      ArrowUp: () => this.neighbour(0, -1), ArrowDown: () => this.neighbour(0, 1),
    };
    this.box.addEventListener("keydown", (event) => {
      const key = event.ctrlKey || event.altKey || event.metaKey ? null : keys[event.key];
      if (!key) return;
      event.preventDefault();
      key();
    });
    for (const button of document.querySelectorAll(".hole")) {
      const { strip, row, track } = button.dataset;
      button.addEventListener("click", () => this.choose({ strip: Number(strip), row: Number(row), track: Number(track) }));
    }
    this.fingers();
    this.box.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && document.activeElement !== this.box) return;
      event.preventDefault();
      this.zoom(Math.exp(-event.deltaY / 300), this.place(event));
    }, { passive: false });
  }

  place(event) {
    const { left, top } = this.box.getBoundingClientRect();
    return { x: event.clientX - left, y: event.clientY - top };
  }

  fingers() {
    const held = new Map();
    let before = null;
    let far = 0;
    const apart = () => {
      const [a, b = a] = [...held.values()];
      return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, wide: Math.hypot(a.x - b.x, a.y - b.y) };
    };
    this.box.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      held.set(event.pointerId, this.place(event));
      this.box.setPointerCapture(event.pointerId);
      before = apart();
      far = 0;
    });
    this.box.addEventListener("pointermove", (event) => {
      if (!held.has(event.pointerId)) return;
      held.set(event.pointerId, this.place(event));
      const now = apart();
      const { s } = this.view;
      far += Math.hypot(now.x - before.x, now.y - before.y);
      this.show({ s, x: this.view.x - (now.x - before.x) / s, y: this.view.y - (now.y - before.y) / s });
      if (now.wide > 10 && before.wide > 10) this.zoom(now.wide / before.wide, now);
      before = now;
    });
    const up = (event) => {
      const was = held.size;
      held.delete(event.pointerId);
      before = held.size ? apart() : null;
      if (event.type !== "pointerup" || was !== 1 || far > 6) return;
      const { x, y } = this.place(event);
      const found = this.nearest(x, y);
      if (found) this.choose(found, false);
    };
    // two fingers belong to the picture, and one as well once the picture is taller than its frame; else it moves the page
    this.box.addEventListener("touchmove", (event) => {
      const taller = this.whole.h * this.view.s > 1.05 * this.box.clientHeight;
      if (event.cancelable && (event.touches.length > 1 || taller)) event.preventDefault();
    }, { passive: false });
    this.box.addEventListener("pointerup", up);
    this.box.addEventListener("pointercancel", up);
  }
}

function outlined(ctx, words, x, y, size, font, colour = "#22262b") {
  ctx.font = `650 ${size}px ${font}`;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  ctx.strokeStyle = "#fffdf7";
  const before = ctx.lineWidth;
  ctx.lineWidth = 4;
  ctx.strokeText(words, x, y);
  ctx.lineWidth = before;
  ctx.fillStyle = colour;
  ctx.fillText(words, x, y);
}

function pairs(list) {
  return list.filter(([, value]) => value !== null).map(([name, value]) => {
    const pair = document.createElement("div");
    const term = document.createElement("dt");
    const says = document.createElement("dd");
    term.textContent = name;
    says.textContent = value;
    pair.append(term, says);
    return pair;
  });
}
