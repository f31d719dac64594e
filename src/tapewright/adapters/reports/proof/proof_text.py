"""The proof in short for the terminal: the first page."""

from collections.abc import Sequence
from textwrap import fill

from tapewright.adapters.reports.proof.plan_text import LINE
from tapewright.core.proof.document import ProofDocument


def proof_text(proof: ProofDocument) -> str:
    """Give the answers of the first page, and how many of each state."""
    page = proof.first_page
    facts = ", ".join(value for word, value in proof.identity.facts if word in ("model", "serial number"))
    out = [f"{proof.identity.name}{f' ({facts})' if facts else ''}, as of {proof.as_of:%Y-%m-%d %H:%M} UTC"]
    for question, answers in (
        ("What was wrong, as found?", page.was_wrong), ("What does it do now, as left?", page.does_now),
        ("How sure is that?", page.how_sure), ("What was not shown?", page.not_shown),
    ):  # fmt: skip
        out += ["", question, *_items(answers)]
    out += ["", f"{page.within} within, {page.outside} outside, {page.unshown} not shown; "
                f"open points: {len(proof.open_points)}, not tested: {len(proof.not_tested)}."]  # fmt: skip
    return "\n".join(out)


def _items(answers: Sequence[str]) -> list[str]:
    return [fill(answer, LINE, initial_indent="  ", subsequent_indent="    ") for answer in answers]
