"""An independent reading of a two-state line, as plain as can be: for tests only, and knowing the unit."""


def instants_after_start(times_s, mark_after, unit_s, turn_units=None, elements=5):
    """Return (character, boundary, closing, deviation in units) of every change, from the start edge before it.

    Walks the edges with a pointer: a change to space from rest is a start; what follows for less than
    elements + 1.5 units belongs to it. Written apart from the program, from FED-STD-1037C's definition.
    """
    found, start, character = [], None, -1
    for time, mark in zip(times_s, mark_after, strict=True):
        if start is None or (not mark and time - start > (elements + 1.5) * unit_s):
            start, character = time, character + 1
            found.append((character, 0, False, 0.0))
            continue
        units = (time - start) / unit_s
        found.append((character, round(units), bool(mark), units - round(units)))
    return found


def level_at(times_s, mark_after, starts_mark, when_s):
    """Return whether the line is mark at a time."""
    level = starts_mark
    for time, mark in zip(times_s, mark_after, strict=True):
        if time > when_s:
            break
        level = bool(mark)
    return level


def read_codes(times_s, mark_after, starts_mark, unit_s, elements=5):
    """Read codes by looking once in the middle of each element; a receiver at its simplest."""
    codes, free_from = [], -1.0
    for time, mark in zip(times_s, mark_after, strict=True):
        if mark or time < free_from:
            continue
        middles = [time + (n + 1.5) * unit_s for n in range(elements)]
        codes.append("".join("01"[level_at(times_s, mark_after, starts_mark, m)] for m in middles))
        free_from = time + (elements + 1.5) * unit_s
    return codes
