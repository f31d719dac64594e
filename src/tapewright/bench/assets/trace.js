// A trace that can be moved and zoomed. What is in view is fetched in as many columns as there are pixels, a screen more
// on either side, so that moving is at once and nothing that is drawn leaves anything out.
import uPlot from "./vendor/uplot.js";
import { fetchArrays } from "./arrays.js";
import { ink, whenLookChanges } from "./ink.js";

const SHORT = new Intl.NumberFormat("en", { notation: "compact" });
const CLOSER = 0.5;
const STEP = 0.25;
const FEWEST_S = 2e-5;
const FETCH_AFTER_MS = 30;
const TOLD_AFTER_MS = 300;

export class Trace {
  /** box: where it goes; path: where its columns come from; ends: {begin, end}; drawUnder, drawOver: (plot) => void. */
  constructor(box, path, ends, { drawUnder, drawOver, settled, levels = null }) {
    Object.assign(this, { box, path, ends, drawUnder, drawOver, settled, levels });
    this.view = { from: ends.begin, to: ends.end };
    this.has = { from: Infinity, to: -Infinity, span: Infinity };
    this.data = [[0], [0]];
    this.range = [0, 1];
    this.each = false;
    this.build();
    this.listen();
    whenLookChanges(box, () => this.build());
  }

  show(from, to) {
    const whole = this.ends.end - this.ends.begin;
    const span = Math.min(Math.max(to - from, FEWEST_S), whole * 1.04);
    const middle = (from + to) / 2;
    const low = this.ends.begin - whole * 0.02;
    const high = this.ends.end + whole * 0.02;
    const begin = Math.min(Math.max(middle - span / 2, low), Math.max(high - span, low));
    this.view = { from: begin, to: begin + span };
    this.plot.setScale("x", { min: this.view.from, max: this.view.to });
    clearTimeout(this.fetching);
    if (!this.covered()) this.fetching = setTimeout(() => this.fetch(), FETCH_AFTER_MS);
    clearTimeout(this.telling);
    this.telling = setTimeout(() => this.settled(this.view), TOLD_AFTER_MS);
  }

  zoom(factor, at) {
    const { from, to } = this.view;
    const about = at ?? (from + to) / 2;
    this.show(about - (about - from) * factor, about + (to - about) * factor);
  }

  move(share) {
    const by = share * (this.view.to - this.view.from);
    this.show(this.view.from + by, this.view.to + by);
  }

  moves() {
    return {
      in: () => this.zoom(CLOSER), out: () => this.zoom(1 / CLOSER), left: () => this.move(-STEP), right: () => this.move(STEP),
      all: () => this.show(this.ends.begin, this.ends.end),
    };
  }

  redraw() {
    this.plot.redraw(false);
  }

  /** Whether what was fetched reaches past the view on either side, and is as fine as the screen. */
  covered() {
    const { from, to } = this.view;
    const fine = to - from > 0.8 * this.has.span || this.each;
    return fine && this.has.from <= from && this.has.to >= to;
  }

  /** One question at a time; what was asked for meanwhile is asked when the answer is there. */
  async fetch() {
    if (this.asking) {
      this.askAgain = true;
      return;
    }
    this.asking = true;
    do {
      this.askAgain = false;
      await this.ask();
    } while (this.askAgain);
    this.asking = false;
  }

  async ask() {
    const { from, to } = this.view;
    const span = to - from;
    const columns = 3 * Math.ceil(this.box.clientWidth || 800);
    const { head, arrays } = await fetchArrays(`${this.path}?from=${from - span}&to=${to + span}&columns=${columns}`);
    this.has = { from: from - span, to: to + span, span };
    this.each = head.each;
    this.data = zigzag(arrays, head.each);
    this.range = reach(arrays, this.range);
    this.plot.setData(this.data, false);
    this.plot.setScale("x", { min: this.view.from, max: this.view.to });
    this.box.dataset.drawn = String(arrays.times_s.length);
  }

  build() {
    this.plot?.destroy();
    const look = ink();
    const narrow = this.box.clientWidth < 600;
    const font = `${narrow ? 13 : 15}px ${look.font}`;
    const axis = { stroke: look.quiet, font, grid: { show: false }, ticks: { stroke: look.quiet, width: 1, size: 5 } };
    this.look = look;
    this.plot = new uPlot({
      width: this.box.clientWidth, height: this.box.clientHeight,
      legend: { show: false }, cursor: { show: false, drag: { x: false, y: false } },
      scales: { x: { time: false, range: (_, min, max) => [min, max] }, y: { range: () => this.tall() } },
      axes: [
        { ...axis, size: 40, space: narrow ? 90 : 110, values: (_, at) => seconds(at, this.view.to - this.view.from) },
        this.tallAxis(axis, narrow),
      ],
      series: [{}, {
        stroke: look.ink, width: 1.6, spanGaps: false,
        points: { show: (plot, _, first, last) => this.each && last - first < plot.bbox.width / 24, size: 5, fill: look.ink },
      }],
      hooks: {
        drawClear: [(plot) => this.drawUnder(plot, look)],
        draw: [(plot) => this.drawOver(plot, look)],
      },
    }, this.data, this.box);
    this.plot.setScale("x", { min: this.view.from, max: this.view.to });
    if (this.has.span < Infinity) this.fetch();
  }

  /** The levels of a line by their names, with what they are in the file; a current in its own figures. */
  tallAxis(axis, narrow) {
    if (!this.levels) return { ...axis, size: narrow ? 46 : 62, space: 60, values: (_, at) => at.map((value) => SHORT.format(value)) };
    const name = (value, i) => (this.range[0] === 0 && this.range[1] === 1 ? this.levels[i] : `${this.levels[i]} ${SHORT.format(value)}`);
    return {
      ...axis, splits: () => this.range, values: () => this.range.map(name),
      size: (_, words) => 16 + (narrow ? 8 : 9) * Math.max(5, ...(words ?? []).map((word) => word.length)),
    };
  }

  /** Room above for the characters, below for the flags. */
  tall() {
    const [low, high] = this.range;
    const size = high - low || 1;
    return [low - 0.28 * size, high + 0.5 * size];
  }

  at(x) {
    const { from, to } = this.view;
    const plot = this.plot.over.getBoundingClientRect();
    return from + ((x - plot.left) / plot.width) * (to - from);
  }

  listen() {
    const held = new Map();
    let before = null;
    const apart = () => {
      const xs = [...held.values()];
      return xs.length === 2 ? { middle: (xs[0] + xs[1]) / 2, wide: Math.max(Math.abs(xs[0] - xs[1]), 10) } : { middle: xs[0], wide: 0 };
    };
    this.box.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      held.set(event.pointerId, event.clientX);
      this.box.setPointerCapture(event.pointerId);
      before = apart();
    });
    this.box.addEventListener("pointermove", (event) => {
      if (!held.has(event.pointerId)) return;
      held.set(event.pointerId, event.clientX);
      const now = apart();
      const moved = this.at(before.middle) - this.at(now.middle);
      this.show(this.view.from + moved, this.view.to + moved);
      if (now.wide && before.wide) this.zoom(before.wide / now.wide, this.at(now.middle));
      before = now;
    });
    for (const end of ["pointerup", "pointercancel"]) {
      this.box.addEventListener(end, (event) => {
        held.delete(event.pointerId);
        before = held.size ? apart() : null;
      });
    }
    // two fingers belong to the trace, however they go; one that goes up or down moves the page
    this.box.addEventListener("touchmove", (event) => { if (event.cancelable && event.touches.length > 1) event.preventDefault(); }, { passive: false });
    this.box.addEventListener("dblclick", (event) => this.zoom(STEP, this.at(event.clientX)));
    this.box.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && document.activeElement !== this.box) return;
      event.preventDefault();
      if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) this.move(event.deltaX / 500);
      else this.zoom(Math.exp(event.deltaY / 300), this.at(event.clientX));
    }, { passive: false });
  }
}

/** Every sample as it is, or each column from its least to its greatest and on to the next. */
function zigzag({ times_s: times, low, high }, each) {
  if (each) return [times, gaps(low)];
  const xs = new Float64Array(2 * times.length);
  const ys = new Float64Array(2 * times.length);
  for (let i = 0; i < times.length; i += 1) {
    xs[2 * i] = times[i];
    xs[2 * i + 1] = times[i];
    ys[2 * i] = i % 2 ? high[i] : low[i];
    ys[2 * i + 1] = i % 2 ? low[i] : high[i];
  }
  return [xs, gaps(ys)];
}

/** What is not known is a gap in the line. */
function gaps(values) {
  if (values instanceof Uint8Array) return Float32Array.from(values);
  return values.some(Number.isNaN) ? Array.from(values, (value) => (Number.isNaN(value) ? null : value)) : values;
}

function reach({ low, high }, otherwise) {
  let least = Infinity;
  let most = -Infinity;
  for (let i = 0; i < low.length; i += 1) {
    if (low[i] < least) least = low[i];
    if (high[i] > most) most = high[i];
  }
  return most > least ? [least, most] : least < Infinity ? [least - 0.5, least + 0.5] : otherwise;
}

/** Times on the axis, with as many figures as the view needs. */
export function seconds(at, span) {
  const step = at.length > 1 ? at[1] - at[0] : span || 1;
  let decimals = 0;
  while (decimals < 7 && Math.abs(step * 10 ** decimals - Math.round(step * 10 ** decimals)) > 1e-3) decimals += 1;
  return at.map((time, i) => `${time.toFixed(decimals)}${i === at.length - 1 ? " s" : ""}`);
}
