// A ruler for each contact and way it moves: the needle is the last time, the band the last twenty.

const RULERS_MS = [1, 2, 5, 10];
const WAYS = [["closing", "closes"], ["opening", "opens"]];

export class Needles {
  constructor(box, scale) {
    this.box = box;
    this.scale = scale;
    this.rows = new Map();
    this.now = new Map();
    this.then = new Map();
    this.moved = new Set();
    this.half = RULERS_MS[0];
  }

  /** Lay the rulers out for so many elements. */
  begin(elements) {
    if (this.rows.size === 2 * (elements + 1)) return;
    this.rows.clear();
    this.box.replaceChildren();
    for (let contact = 1; contact <= elements + 1; contact += 1) {
      const name = contact > elements ? "stop" : String(contact);
      for (const [way, does] of WAYS) {
        // the stop contact opens every character: all others are counted from there; the last one opens into the stop
        const unseen = way === "opening" && contact > elements ? "counted from here"
          : way === "opening" && contact === elements ? "not seen: the stop follows" : "";
        this.rows.set(`${name} ${way}`, this.row(name, does, unseen));
      }
    }
    this.draw();
  }

  row(name, does, unseen) {
    const row = document.createElement("div");
    row.className = "needle";
    const label = part("span", "name", `${name === "stop" ? "Stop" : `Contact ${name}`} ${does}`);
    const rule = part("div", "rule");
    rule.setAttribute("aria-hidden", "true");
    rule.append(part("span", "mid"));
    const pieces = { row, rule, before: part("span", "before"), band: part("span", "band"), tip: part("span", "tip") };
    for (const piece of ["before", "band", "tip"]) {
      pieces[piece].hidden = true;
      rule.append(pieces[piece]);
    }
    pieces.late = part("span", "late", "");
    pieces.unseen = unseen;
    row.append(label, rule, pieces.late);
    this.box.append(row);
    return pieces;
  }

  all(before, needles) {
    this.then = byKey(before);
    this.now = byKey(needles);
    this.moved.clear();
    this.draw();
  }

  take(needles) {
    this.moved = new Set(needles.map(keyOf));
    for (const needle of needles) this.now.set(keyOf(needle), needle);
    this.draw();
  }

  /** What was keyed up to here is "before". */
  turned() {
    this.then = this.now;
    this.now = new Map();
    this.moved.clear();
    for (const row of this.rows.values()) row.doubt = undefined;
    this.draw();
  }

  forget() {
    this.now = new Map();
    this.draw();
  }

  /** The figures of the last characters together: the mean with its doubt, under the needle's own number. */
  figures(contacts) {
    for (const contact of contacts) {
      for (const [way] of WAYS) {
        const row = this.rows.get(`${contact.contact} ${way}`);
        if (row) row.doubt = contact[`${way}_late_ms`];
      }
    }
    this.draw();
  }

  draw() {
    const ends = [];
    for (const set of [this.now, this.then]) {
      for (const needle of set.values()) ends.push(Math.abs(needle.late_ms.value), ...(needle.band_ms ?? []).map(Math.abs));
    }
    const most = Math.max(0, ...ends);
    this.half = RULERS_MS.find((half) => half >= most) ?? RULERS_MS.at(-1);
    this.scale.textContent = `Each ruler goes from ${this.half} ms early to ${this.half} ms late. The large number is the last one; under it the mean since the last turn, with its doubt.`;
    for (const [name, row] of this.rows) this.drawRow(row, this.now.get(name), this.then.get(name), this.moved.has(name));
  }

  drawRow(row, needle, before, moved) {
    row.row.classList.toggle("moved", moved);
    this.span(row.before, before?.band_ms);
    this.span(row.band, needle?.band_ms);
    row.tip.hidden = !needle;
    if (!needle) {
      row.late.replaceChildren(...(row.unseen ? [part("span", "unseen", row.unseen)] : []));
      return;
    }
    const late = needle.late_ms.value;
    row.tip.style.left = `${this.place(late)}%`;
    row.tip.dataset.past = String(late > this.half ? 1 : late < -this.half ? -1 : 0);
    row.late.textContent = signed(late);
    if (row.doubt) {
      const spread = row.doubt.u === null ? "" : ` ± ${(2 * row.doubt.u).toFixed(2)}`;
      row.late.append(part("span", "doubt", `${signed(row.doubt.value)}${spread}`));
    }
  }

  span(piece, ends) {
    piece.hidden = !ends;
    if (!ends) return;
    piece.style.left = `${this.place(ends[0])}%`;
    piece.style.width = `${this.place(ends[1]) - this.place(ends[0])}%`;
  }

  place(ms) {
    return 50 + 50 * Math.min(1, Math.max(-1, ms / this.half));
  }
}

/** A number with its sign; nothing has none. */
function signed(ms) {
  const words = Math.abs(ms).toFixed(2);
  return words === "0.00" ? words : `${ms > 0 ? "+" : "−"}${words}`;
}

function keyOf(needle) {
  return `${needle.contact} ${needle.direction}`;
}

function byKey(needles) {
  return new Map(needles.map((needle) => [keyOf(needle), needle]));
}

function part(kind, name, words) {
  const piece = document.createElement(kind);
  piece.className = name;
  if (words !== undefined) piece.textContent = words;
  return piece;
}
