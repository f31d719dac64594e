"""Who answers a question of the margin search: a file, the practice machine, or the operator with what he has."""

from collections.abc import Callable, Iterator
from pathlib import Path

import click

from tapewright.alphabets import ALPHABETS, Alphabet
from tapewright.errors import TapewrightError, WrongUseError
from tapewright.margin.ends import Answer
from tapewright.margin.files import JudgedFiles, answer_of
from tapewright.margin.find import Judge, Word, holds

Send = Callable[[int, float], tuple[str, ...] | None]
PICTURES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".webp")
HELP = "y(es), n(o), ? (can't say), a FILE (picture of the tape, capture of the echo), undo, stop"


def after_sending(send: Send | None, judge: Judge) -> Judge:
    """Send the test line, then let the judge answer."""

    def ask(number: int, at: float) -> Answer | Word:
        if send is not None:
            send(number, at)
        return judge(number, at)

    return ask


def by_answers(answers: Iterator[Answer]) -> Judge:
    """Take answers made beforehand; stop when there are no more."""

    def ask(number: int, at: float) -> Answer | Word:
        return next(answers, "stop")

    return ask


def by_practice(send: Send, codes: tuple[str, ...]) -> Judge:
    """Let the practice machine print, and compare."""

    def ask(number: int, at: float) -> Answer | Word:
        return "right" if send(number, at) == codes else "wrong"

    return ask


def by_operator(
    send: Send | None, codes: tuple[str, ...], way: str, alphabet: Alphabet, baud: float, judged: JudgedFiles
) -> Judge:
    """Ask the person at the machine; `judged` takes each file that answers."""
    set_it = {"scale": "Set the pointer to {:g}", "signal": "The signal is shifted by {:g} %"}[way]

    def ask(number: int, at: float) -> Answer | Word:
        judged.forget(number)
        click.echo(f"{number}. {set_it.format(at)}.", err=True)
        if send is None:
            click.echo("   Let the test line come.", err=True)
        else:
            click.prompt("   Enter to send", default="", show_default=False, err=True)
            send(number, at)
        while True:
            said = click.prompt(f"   Did it print right? {HELP}", err=True).strip()
            if said.lower() in ("undo", "stop"):
                return "undo" if said.lower() == "undo" else "stop"
            if (answer := answer_of(said)) is not None:
                return answer
            if (answer := _by_file(said, codes, alphabet, baud)) is not None:
                judged.keep(number, Path(said))
                return answer

    return ask


def _by_file(name: str, codes: tuple[str, ...], alphabet: Alphabet, baud: float) -> Answer | None:
    """Read a picture of the tape or a capture of the echo; None, with the reason said, when it cannot be read."""
    path = Path(name)
    if not path.is_file():
        click.echo(f"   Expected one of: {HELP}.", err=True)
        return None
    try:
        read = codes_in_picture(path, alphabet) if path.suffix.lower() in PICTURES else codes_in_capture(path, baud)
    except (TapewrightError, WrongUseError) as reason:
        click.echo(f"   {reason}", err=True)
        return None
    answer: Answer = "right" if any(holds(codes, codes_read) for codes_read in read) else "wrong"
    click.echo(f"   {path.name}: {answer}.", err=True)
    return answer


def codes_in_picture(path: Path, alphabet: Alphabet) -> list[tuple[str, ...]]:
    """Read the tapes in a picture, each either way round when that is not sure."""
    from tapewright.pictures.decode import read_picture
    from tapewright.tape.read import read_tape_picture
    from tapewright.tape.settings import TapeSettings

    name = next(name for name, each in ALPHABETS.items() if each is alphabet)
    strips = read_tape_picture(read_picture(path), TapeSettings(alphabet=name)).strips
    others = [strip.other_reading.codes for strip in strips if strip.other_reading is not None]
    return [*(strip.codes for strip in strips), *others]


def codes_in_capture(path: Path, baud: float) -> list[tuple[str, ...]]:
    """Read the codes of a line capture."""
    from tapewright.alphabets import ITA2
    from tapewright.line.document import LineSettings
    from tapewright.line.read import HowToRead, read_line
    from tapewright.recordings.files.on_disk import CaptureFilesOnDisk

    settings = LineSettings(alphabet=ITA2, nominal_baud=baud)
    report = read_line(
        path, HowToRead(), settings, files=CaptureFilesOnDisk(), progress=lambda _: None, fingerprint=False
    )
    return [report.result.codes]
