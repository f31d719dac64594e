"""The proof: what it says so far, what is still missing, the test plan; the whole as a preview and as PDF.

The proof names commands; a person at the page gets what to press, the page to go to, and the signal to take.
"""

import base64
import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import quote

from starlette.responses import Response

from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Page
from tapewright.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

    from tapewright.furniture.pages.blocks import Block
    from tapewright.proof.document import ProofDocument
    from tapewright.proof.raw_pictures import RawPictures

#: a longer one would be a file of more than 100 MB
MOST_CHARACTERS = 6000


class Way(NamedTuple):
    """Words and the page under the machine's own path; no page where the bench cannot do it."""

    words: str
    see: str | None


#: what a "do" holds -> the way; the first that fits
WAYS: tuple[tuple[str, Way], ...] = (
    (
        "--expect",
        Way('Drop the recording again, with the text that was sent typed under "What was sent"', "line/newest#drop"),
    ),
    ("line margin", Way("Not on a page yet: type this in a terminal", None)),
    ("line read", Way("Record the line, then drop the recording on the line page", "line/newest#drop")),
    ("tape read", Way("Scan or photograph a tape, then drop the picture on the tape page", "tape/newest#drop")),
    ("drive read", Way("Record the coil's current, then read it on the drive page", "drive#read")),
    ("sheet enter", Way("Measure on the gauges page", "gauges")),
    ("let it run under watch", Way("Let it run under watch on the live page", "live")),
    ("what is seen and heard", Way("Answer on the questions page", "questions")),
)
SIGNAL = Way(
    "Take the signal and play it through a loop keyer, or strike the keys; record the line, then drop the "
    "recording, taken as left, on the line page",
    "line/newest#drop",
)


def with_ways(gaps: Sequence[Mapping[str, Any]], plan: Sequence[Mapping[str, Any]]) -> list[dict[str, object]]:
    """Return gaps, each with its way on the page: words, see, signal (key of the test), command; None where none."""
    signals = {test["command"]: test for test in plan if test["command"]}
    return [{**gap, "way": _way(str(gap["do"] or ""), signals)} for gap in gaps]


def _way(do: str, signals: Mapping[str, Mapping[str, Any]]) -> dict[str, object] | None:
    if do in signals:
        test = signals[do]
        if test["characters"] > MOST_CHARACTERS:
            words = "Too long for the page: compose the signal in a terminal"
            return {"words": words, "see": None, "signal": None, "command": do}
        return {"words": SIGNAL.words, "see": SIGNAL.see, "signal": test["test"], "command": None}
    way = next((way for part, way in WAYS if part in do), None)
    if way is None:
        return None
    return {"words": way.words, "see": way.see, "signal": None, "command": do if way.see is None else None}


PAPERS = ("a4", "letter")
#: Widths of columns written into the table would be inline style, which no page of the bench may have.
COLUMN_WIDTH, STYLE_SHEET = re.compile(r'<col style="[^"]*">'), re.compile(r"<style>(.*?)</style>", re.DOTALL)


def answer(asking: Asking) -> dict[str, object]:
    """Return the first page of the proof, what is not tested, what is open, and the test plan."""
    from tapewright.furniture.document import to_builtins

    machine = asking.bench.book.machine(asking.where["machine"])
    made = to_builtins(_proof(asking))
    kept = ("as_of", "first_page", "open_points", "plan", "cautions")
    return {
        "machine": heading(machine),
        "papers": list(PAPERS),
        "not_tested": with_ways(made["not_tested"], made["plan"]["tests"]),
        "open": asking.bench.open.of(machine).words,
        **{key: made[key] for key in kept},
    }


def signal(asking: Asking) -> Response:
    """Return the signal of a test of the plan as sound: ?test= its short name.

    Raises:
        InputError: for a test that has no signal, or one too long for a page.
    """
    from tapewright.alphabets import ALPHABETS
    from tapewright.sender.planned import planned_signal

    plan, wanted = _proof(asking).plan, asking.query.get("test", "")
    test = next((t for t in plan.tests if t.test == wanted and t.command), None)
    if test is None or test.characters > MOST_CHARACTERS:
        named = ", ".join(t.test for t in plan.tests if t.command and t.characters <= MOST_CHARACTERS)
        raise InputError("the signal", expected=f"one of {named}", found=repr(wanted[:40]))
    written = planned_signal(test.pattern, test.characters, ALPHABETS[plan.alphabet], plan.baud)
    named_after = {"content-disposition": f'attachment; filename="{test.test}.wav"'}
    return Response(written, media_type="audio/wav", headers=named_after)


def preview(asking: Asking) -> Response:
    """Return the proof as a page to look at and to print."""
    from tapewright.furniture.pages.html import pages_html
    from tapewright.proof.proof_pages import proof_pages

    proof = _proof(asking)
    html = COLUMN_WIDTH.sub("<col>", pages_html(proof_pages(proof, _raw(asking, proof))))
    style = STYLE_SHEET.search(html)
    digest = base64.b64encode(hashlib.sha256((style[1] if style else "").encode()).digest()).decode()
    # its one style sheet stands in the file so that the file can be handed on; it is allowed by its fingerprint
    policy = f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; frame-ancestors 'none'"
    return Response(html, media_type="text/html", headers={"content-security-policy": policy})


def pdf(asking: Asking) -> Response:
    """Return the proof as PDF, for A4 or Letter, sealed with the key of this bench."""
    from tapewright.book.keys import own_key
    from tapewright.furniture.document import to_builtins
    from tapewright.proof.proof_pages import proof_pages
    from tapewright.proof.seal import proof_bytes

    proof = _proof(asking)
    raw = _raw(asking, proof)
    paper = asking.query.get("paper", PAPERS[0])
    paper = paper if paper in PAPERS else PAPERS[0]
    written = proof_bytes(".pdf", paper, to_builtins(proof), lambda: proof_pages(proof, raw), own_key())
    name = quote(f"{proof.identity.name} proof.pdf")
    return Response(
        written, media_type="application/pdf", headers={"content-disposition": f"inline; filename*=UTF-8''{name}"}
    )


def _proof(asking: Asking) -> "ProofDocument":
    from tapewright.proof.prove_machine import prove_machine

    return prove_machine(asking.bench.book, asking.where["machine"])


@dataclass(frozen=True, slots=True)
class _Drawing:
    """A drawing as it is kept beside the traces, so that the PDF need not measure again what the preview showed."""

    block: "Block"

    @property
    def size_bytes(self) -> int:
        """What it takes in memory."""
        return len(getattr(self.block, "svg", ""))

    def close(self) -> None:
        """Nothing of it is on disk."""


def _raw(asking: Asking, proof: "ProofDocument") -> "RawPictures":
    from tapewright.proof.raw_pictures import raw_pictures

    def once(key: str, make: "Callable[[], Block]") -> "Block":
        kept: _Drawing = asking.bench.traces.get(key, lambda _: _Drawing(make()))
        return kept.block

    return raw_pictures(asking.bench.book, proof, once)


PAGE = Page(
    "proof",
    "/machines/{machine}/proof",
    answer,
    "What the proof says so far, and what it still lacks.",
    menu="Proof",
    data={"preview": preview, "proof.pdf": pdf, "signal.wav": signal},
)
