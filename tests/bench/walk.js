// Looks at a page as it stands in the browser, for walk.py. Hidden is what has no box or lies in a closed fold.
{
  const CONTROLS = "a[href], button, input, select, textarea, summary";
  const LEAST_PX = 24;
  const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length > 0;
  const short = (e) => e.outerHTML.slice(0, 120);
  const seen = new WeakSet();
  let stops = new Set();

  function headings() {
    const all = [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")].filter(shown);
    const levels = all.map((h) => Number(h.tagName[1]));
    const found = [];
    if (levels.filter((n) => n === 1).length !== 1) found.push(`not one heading of the first level: ${levels}`);
    if (levels.some((n, i) => i && n > levels[i - 1] + 1)) found.push(`a level of headings is left out: ${levels}`);
    return found;
  }

  function landmarks() {
    const parts = ["body > header", "main", "body > footer"];
    const found = parts.filter((part) => document.querySelectorAll(part).length !== 1).map((part) => `not one ${part}`);
    const names = [...document.querySelectorAll("nav")].map((n) => n.getAttribute("aria-label"));
    if (names.some((n) => !n) || new Set(names).size < names.length) found.push(`navigations named alike: ${names}`);
    const ofBench = document.querySelector("meta[name=bench-key]"); // a document such as the proof's has no status
    if (ofBench && !document.querySelector("#says[role=status]")) found.push("no status that tells what became of it");
    return found;
  }

  /** Controls too small for a finger. A link within a sentence may be: its size is that of the line. */
  function small() {
    const alone = (e) => e.parentElement.textContent.trim() === e.textContent.trim();
    const inLine = (e) => getComputedStyle(e).display === "inline" && !alone(e);
    const hidden = (e) => !shown(e) || e.type === "hidden" || getComputedStyle(e).opacity === "0";
    const skips = (e) => e.getBoundingClientRect().right < 0; // comes in sight when it has the focus
    const none = { width: 0, height: 0 };
    return [...document.querySelectorAll(CONTROLS)].filter((e) => !hidden(e) && !inLine(e) && !skips(e)).filter((e) => {
      const boxes = [e.getBoundingClientRect(), e.labels?.[0]?.getBoundingClientRect() ?? none];
      return ["width", "height"].some((side) => Math.max(...boxes.map((box) => box[side])) < LEAST_PX);
    }).map((e) => `smaller than ${LEAST_PX} px: ${short(e)}`);
  }

  /** Note all that a Tab should stop at; a group of choices is one stop. Gives what forces its place in the order. */
  function begin() {
    document.body.tabIndex = -1; // the next Tab goes on from here, not from what was clicked last
    document.body.focus();
    document.body.removeAttribute("tabindex");
    const all = [...document.querySelectorAll(`${CONTROLS}, [tabindex='0']`)];
    const can = all.filter((e) => !e.disabled && e.type !== "hidden" && e.tabIndex >= 0 && shown(e));
    stops = new Set(can.map((e) => [group(e)].flat()[0]));
    return [...document.querySelectorAll("[tabindex]")].filter((e) => e.tabIndex > 0).map(short);
  }

  function group(e) {
    return e.type === "radio" ? [...document.querySelectorAll(`[name="${CSS.escape(e.name)}"]`)] : [e];
  }

  /** Where the focus is after a Tab, whether it shows, whether something covers it. Null: past the last one. */
  function stop() {
    const e = document.activeElement;
    if (!e || e === document.body || e === document.documentElement) return null;
    const again = seen.has(e);
    seen.add(e);
    const stands = e.getBoundingClientRect().width < 3 || getComputedStyle(e).opacity === "0";
    const marked = stands && e.labels?.[0] ? e.labels[0] : e; // its label shows it
    const box = marked.getBoundingClientRect();
    return { what: short(e), again, found: [ring(marked), cover(e, marked)].filter(Boolean), main: !!e.closest("main"),
             left: box.left, top: box.top + scrollY, bottom: box.bottom + scrollY };
  }

  function ring(e) {
    const style = getComputedStyle(e);
    return style.outlineStyle === "none" || parseFloat(style.outlineWidth) < 2 ? "its focus is not seen" : "";
  }

  function cover(e, marked) {
    const inView = [...marked.getClientRects()].map((r) => ({
      left: Math.max(r.left, 0), right: Math.min(r.right, innerWidth),
      top: Math.max(r.top, 0), bottom: Math.min(r.bottom, innerHeight),
    })).find((r) => r.right - r.left > 1 && r.bottom - r.top > 1);
    if (!inView) return "it is out of sight";
    const there = document.elementFromPoint((inView.left + inView.right) / 2, (inView.top + inView.bottom) / 2);
    const own = [e, marked, ...(e.labels ?? [])];
    if (there && own.some((one) => one.contains(there) || there.contains(one))) return "";
    return `something covers it (${there ? short(there) : "nothing is there"})`;
  }

  const missed = () => [...stops].filter((e) => e.isConnected && !group(e).some((one) => seen.has(one))).map(short);

  /** By how many pixels the page is wider than the window, after what is drawn anew for another size was drawn. */
  async function wider() {
    for (let i = 0; i < 4; i += 1) await new Promise(requestAnimationFrame);
    return document.documentElement.scrollWidth - document.documentElement.clientWidth;
  }

  window.walk = { made: () => [...headings(), ...landmarks(), ...small()], begin, stop, missed, wider };
}
