// The colours of the page as the plots need them; they change with light and dark, and for print.

export function ink() {
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: colour("ink"), quiet: colour("quiet"), line: colour("line"), brass: colour("brass"), wash: colour("brass-wash"),
    card: colour("card"), outside: colour("outside"), proved: colour("proved"),
    font: getComputedStyle(document.body).fontFamily,
  };
}

/** Call when the colours or the size of `box` change. */
export function whenLookChanges(box, redraw) {
  // for print the page has its colours and its width by the time this is said, and what is drawn now is what is printed
  for (const look of ["(prefers-color-scheme: dark)", "print"]) window.matchMedia(look).addEventListener("change", () => redraw());
  let width = box.clientWidth;
  new ResizeObserver(() => {
    if (box.clientWidth === width) return;
    width = box.clientWidth;
    redraw();
  }).observe(box);
}
