"""Whether two pieces of evidence were taken with one instrument: then part of their doubt moves both together."""

from tapewright.core.book.entry import Entry


def one_instrument(a: Entry, b: Entry) -> bool:
    """Say whether both name the same instrument; nothing named is not the same."""
    one, other = instrument_of(a), instrument_of(b)
    return bool(one) and one == other


def instrument_of(entry: Entry) -> str:
    """Give the instrument a line names, in small letters and single blanks; empty for none."""
    name = entry.new.body.get("instrument")
    return " ".join(name.split()).casefold() if isinstance(name, str) else ""
