"""The pages of the bench, in the order of the navigation. To add a page: its file, its template, a line here."""

from tapewright.bench.page import Page
from tapewright.bench.pages import (
    coil,
    compare,
    drive,
    evidence,
    gauges,
    line,
    live,
    machine,
    practice,
    proof,
    questions,
    shelf,
    tape,
    trials,
)

PAGES: tuple[Page, ...] = (
    shelf.PAGE,
    practice.PAGE,
    machine.PAGE,
    questions.PAGE,
    gauges.PAGE,
    trials.PAGE,
    live.PAGE,
    line.PAGE,
    tape.PAGE,
    drive.PAGE,
    coil.PAGE,
    compare.PAGE,
    proof.PAGE,
    evidence.PAGE,
)
