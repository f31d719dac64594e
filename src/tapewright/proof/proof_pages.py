"""The proof as pages: the first page, then section by section in the order of its document.

The proof in short for the terminal: the first page.
"""

from collections.abc import Callable, Sequence
from textwrap import fill
from typing import TYPE_CHECKING

from tapewright.furniture.pages.blocks import Answers, Block, Counts, Facts, Pages, Section
from tapewright.proof.document import ProofDocument
from tapewright.proof.measured_sections import (
    errors_section,
    found_left_section,
    line_section,
    requirements_section,
    tape_section,
)
from tapewright.proof.plan_pages import LINE
from tapewright.proof.written_sections import (
    cautions_section,
    dead_checks_section,
    identity_section,
    in_words_section,
    instruments_section,
    not_tested_section,
    open_section,
    plan_section,
    trail_section,
    withdrawn_section,
    work_section,
)

if TYPE_CHECKING:
    from tapewright.proof.raw_pictures import RawPictures


SECTIONS: tuple[Callable[[ProofDocument], Section], ...] = (
    identity_section,
    found_left_section,
    work_section,
    requirements_section,
    line_section,
    tape_section,
    errors_section,
    in_words_section,
    dead_checks_section,
    instruments_section,
    not_tested_section,
    plan_section,
    open_section,
    withdrawn_section,
    cautions_section,
    trail_section,
)
#: what of the identity and the intake stands on the first page
ON_FIRST_PAGE = ("came", "came from")


#: letters of one answer on the first page; the whole stands further back
LONGEST_ANSWER, LONGEST_FACT = 480, 90


def _short(said: str, longest: int = LONGEST_ANSWER) -> str:
    """Cut a long text, so that the answers stay on one page."""
    one_line = " ".join(said.split())
    return one_line if len(one_line) <= longest else f"{one_line[:longest]} …"


def proof_pages(proof: ProofDocument, raw: "RawPictures | None" = None) -> Pages:
    """Return the whole proof as pages, with the pictures of the raw files when there are some."""
    name = proof.identity.name
    more: dict[Callable[[ProofDocument], Section], Sequence[Block]] = {}
    if raw:
        more = {line_section: raw.line, tape_section: raw.tape}
    made = [_longer(make(proof), more.get(make, ())) for make in SECTIONS]
    numbered = [Section(f"{n}  {s.heading}", s.blocks, new_page=n == 1) for n, s in enumerate(made, start=1)]
    return Pages(
        f"Proof of {name}",
        f"What was measured, how sure it is, and what was not shown. As of {proof.as_of:%d %B %Y, %H:%M} UTC.",
        f"Proof of {name}, as of {proof.as_of:%Y-%m-%d %H:%M} UTC, {proof.newest[:12]}",
        proof.as_of,
        (_first_page(proof), *numbered),
    )


def _longer(section: Section, blocks: Sequence[Block]) -> Section:
    return Section(section.heading, [*section.blocks, *blocks], section.new_page) if blocks else section


def _first_page(proof: ProofDocument) -> Section:
    page, identity, counts = proof.first_page, proof.identity, proof.first_page.counts
    facts = [*identity.facts.items(), *[pair for pair in identity.intake.items() if pair[0] in ON_FIRST_PAGE]]
    blocks: list[Block] = [
        Facts([(word, _short(said, LONGEST_FACT)) for word, said in (("machine", identity.name), *facts)]),
        Answers("What was wrong, as found?", [_short(said) for said in page.was_wrong]),
        Answers("What does it do now, as left?", [_short(said) for said in page.does_now]),
        Answers("How sure is that?", [_short(said) for said in page.how_sure]),
        Counts([("within", counts.within), ("outside", counts.outside), ("not shown", counts.unshown)]),
        Answers("What was not shown?", [_short(said) for said in page.not_shown]),
    ]
    return Section("", blocks)


def proof_text(proof: ProofDocument) -> str:
    """Return the answers of the first page, and how many of each state."""
    page = proof.first_page
    facts = ", ".join(value for word, value in proof.identity.facts.items() if word in ("model", "serial number"))
    out = [f"{proof.identity.name}{f' ({facts})' if facts else ''}, as of {proof.as_of:%Y-%m-%d %H:%M} UTC"]
    for question, answers in (
        ("What was wrong, as found?", page.was_wrong),
        ("What does it do now, as left?", page.does_now),
        ("How sure is that?", page.how_sure),
        ("What was not shown?", page.not_shown),
    ):
        out += ["", question, *_items(answers)]
    out += [
        "",
        f"{page.counts.within} within, {page.counts.outside} outside, {page.counts.unshown} not shown; "
        f"open points: {len(proof.open_points)}, not tested: {len(proof.not_tested)}.",
    ]
    return "\n".join(out)


def _items(answers: Sequence[str]) -> list[str]:
    return [fill(answer, LINE, initial_indent="  ", subsequent_indent="    ") for answer in answers]
