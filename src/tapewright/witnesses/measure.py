"""Compare a line capture and a tape of one event."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tapewright.alphabets import ALPHABETS, Alphabet
from tapewright.errors import InputError
from tapewright.furniture.record import Progress
from tapewright.furniture.steps import no_progress
from tapewright.line import from_settings as line
from tapewright.message.comparison import keyed_message, message
from tapewright.message.expected import expected_codes
from tapewright.pictures.decode import read_picture
from tapewright.tape.read import read_tape_picture
from tapewright.tape.settings import TapeSettings
from tapewright.witnesses.report import compare_document
from tapewright.witnesses.two_witnesses import TwoWitnesses, compare_witnesses

DEFAULTS: dict[str, Any] = {"expect": None, "alphabet": "ita2", "strip": 1}


@dataclass(frozen=True, slots=True, eq=False)
class BothReport:
    """What line and tape say together; `tape_says` is what the tape itself shows."""

    found: TwoWitnesses
    alphabet: Alphabet
    line_name: str
    tape_name: str
    tape_says: tuple[str, ...]


def measure(
    files: Mapping[str, Path], settings: Mapping[str, Any], *, progress: Progress = no_progress
) -> BothReport:
    """Compare "capture" and "picture" of the files.

    Raises:
        InputError, WrongUseError: what cannot be read, what makes no sense.
    """
    said = DEFAULTS | dict(settings)
    alphabet, strip = ALPHABETS[said["alphabet"]], said["strip"]
    sent = expected_codes(said["expect"], alphabet)
    heard = line.measure(files, {"alphabet": said["alphabet"]}, progress=progress, fingerprint=False)
    codes = heard.result.codes
    if not codes:
        raise InputError(str(files["capture"]), expected="characters on the line", found="none that can be read",
                         do="See what `tapewright line read` says of it.")  # fmt: skip
    picture = read_picture(files["picture"])
    tape = read_tape_picture(picture, TapeSettings(alphabet=said["alphabet"]), expected=tuple(sent or codes))
    if strip > len(tape.strips):
        there = f"{len(tape.strips)} strips"
        raise InputError(str(files["picture"]), expected=f"strip {strip}", found=there)
    read = tape.strips[strip - 1]
    if sent:
        codes = tuple(keyed_message(codes, sent))
    found = compare_witnesses(codes, message(read.codes, sent or codes), sent)
    says = tuple(finding.text for finding in read.findings)
    return BothReport(found, alphabet, files["capture"].name, files["picture"].name, says)


def document(report: BothReport) -> dict[str, Any]:
    """Return tapewright/compare/1."""
    return compare_document(report.found, report.line_name, report.tape_name, report.tape_says)
