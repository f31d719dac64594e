"""Whether somebody who has only a keyboard, or only hears a page, gets everywhere on it.

Outside: WCAG 2.2, success criteria 1.3.1 (headings, landmarks), 1.4.10 (no scrolling sideways), 2.1.1 and 2.1.2 (every
control reached, none a trap), 2.4.3 (order), 2.4.7 and 2.4.11 (focus seen, not hidden behind anything), 2.5.8 (targets
of 24 px), 4.1.3 (a status that tells what became of it).
"""

from pathlib import Path

SCRIPT = (Path(__file__).parent / "walk.js").read_text(encoding="utf-8")
MOST_STOPS = 600
#: a control that ends this much above where the one before it begins has gone back up
A_LINE_PX = 12


def made_wrongly(page):
    """Return what is wrong with headings, landmarks and the size of targets."""
    return _ask(page, "made()")


def lost_on_the_way(page):
    """Tab from the first control to past the last one; give what was not reached, not seen, or out of order."""
    found = [f"its place in the order is forced: {what}" for what in _ask(page, "begin()")]
    before = None
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        stop = _ask(page, "stop()")
        if stop is None or stop["again"]:
            break
        found += [f"{words}: {stop['what']}" for words in stop["found"]]
        if before and before["main"] and stop["main"] and _goes_back(before, stop):
            found.append(f"the order goes back up: {before['what']} -> {stop['what']}")
        before = stop
    else:
        found.append(f"no end after {MOST_STOPS} stops")
    return found + [f"never reached: {what}" for what in _ask(page, "missed()")]


def sticks_out(page):
    """Return by how many pixels the page is wider than the window."""
    return _ask(page, "wider()")


def _ask(page, what):
    if not page.evaluate("typeof window.walk === 'object'"):
        page.evaluate(SCRIPT)
    return page.evaluate(f"window.walk.{what}")


def _goes_back(before, stop):
    """Return whether a stop lies above the one before it and not in a column to its right."""
    return stop["bottom"] < before["top"] - A_LINE_PX and stop["left"] <= before["left"]
