"""Compare: two machines of the book side by side, or one as found against as left."""

from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Page

#: which evidence of a side -> words
MOMENTS = {"": "newest", "as-found": "as found", "as-left": "as left"}


def answer(asking: Asking) -> dict[str, object]:
    """Return the comparison with another machine, or of this one as found with as left."""
    from tapewright.book.side_by_side.compare_machines import compare_machines, moment_of
    from tapewright.book.side_by_side.json import side_by_side_document

    book = asking.bench.book
    machine = book.machine(asking.where["machine"])
    other = book.machine(asking.query.get("with") or machine.key)
    itself = other.key == machine.key
    a = asking.query.get("from", "as-found" if itself else "")
    b = asking.query.get("to", "as-left" if itself else "")
    compared = compare_machines(book, machine.key, other.key, moment_of(a or None, "from"), moment_of(b or None, "to"))
    return {
        "machine": heading(machine),
        "others": [{"key": m.key, "name": m.name} for m in book.machines()],
        "with": other.key,
        "from": a,
        "to": b,
        "moments": MOMENTS,
        "compared": side_by_side_document(compared),
    }


PAGE = Page(
    "compare", "/machines/{machine}/compare", answer, "Two machines side by side, or one at two dates.", menu="Compare"
)
