"""What was adjusted while a soak runs: keys, the file of marks beside its state, adjustments and trials of the book.

`tapewright line soak`: hours of a known text, errors counted, over restarts.
"""

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.errors import WrongUseError
from tapewright.furniture.acknowledge import remind
from tapewright.furniture.command import DONE, NOT_SHOWN, OUTSIDE, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_options
from tapewright.furniture.keyboard import Keys
from tapewright.furniture.options import Number, text_argument
from tapewright.furniture.record import record
from tapewright.line.live.soak import SoakState
from tapewright.line.live.soak_files import marks_of
from tapewright.line.live.soak_run import Said
from tapewright.number import State

#: seconds of line from one writing of the state to the next, and from one line of the log to the next
SAVE_EVERY_S, LOG_EVERY_S = 10.0, 60.0
#: a share of wrong characters worth showing: one in a thousand (owner's choice)
WORTH_SHOWING = 1e-3
EXITS = {State.WITHIN: DONE, State.OUTSIDE: OUTSIDE, State.NOT_SHOWN: NOT_SHOWN}


@click.command()
@click.option("--from", "source", metavar="SOURCE", help="What shows the line: see line watch --list.")
@click.option("--expect", help="One round of the text that is sent over and over, or @FILE with it.")
@click.option("--state", type=click.Path(dir_okay=False, path_type=Path), required=True, metavar="FILE",
              help="Where it keeps its state; named again, it goes on from there; FILE.log only grows.")  # fmt: skip
@click.option("--mark", metavar="WORDS", help="Say what was adjusted, while it runs or before it goes on; and end.")
@click.option("--report", is_flag=True, help="Say how it stands, and end. Can be asked while it runs.")
@click.option("--nominal", default="auto", show_default=True, help="Speed it should have, in baud: 45.45, 50, ...")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
              help="Code table: ita2, or us for the US commercial figures.")
@click.option("--idle", type=click.Choice(["auto", "high", "low"]), default="auto", show_default=True,
              help="Level of the line at rest (mark).")  # fmt: skip
@click.option("--rate", type=Number(1, 1e8), help="Samples a second to take, or that a raw file has.")
@click.option("--channel", type=click.IntRange(1, 64), help="Which channel of the source.")
@click.option("--raw", type=click.Choice(["u8", "s16", "s32", "f32", "logic"]), help="What raw samples are.")
@click.option("--follow", is_flag=True, help="Wait for more at the end of a file.")
@click.option("--profile", type=click.Path(path_type=Path), help="An oscilloscope's own words, as TOML.")
@click.option("--fast", is_flag=True, help="The practice machine as fast as this computer can.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the practice machine's chance.")
@click.option("--claim", type=Number(1e-7, 0.5), default=WORTH_SHOWING, show_default=True, metavar="SHARE",
              help="Share of wrong characters that is to be shown; the exit code tells whether it is.")  # fmt: skip
@click.option("--seconds", type=Number(0.1, 1e7), help="End after so much of the line.")
@click.option("--characters", type=click.IntRange(1), help="End after so many characters.")
@keep_options
@json_option
def soak(
    source: str | None, expect: str | None, state: Path, mark: str | None, report: bool, claim: float,
    keep: Keeping | None, as_json: bool, **said: Any,
) -> int:  # fmt: skip
    """Run a known text for hours, count what comes wrong, and say how low the rate of errors is shown to be.

    It stops with Ctrl-C and goes on where it stood when started again with the same --state; so it does after a
    power cut. The practice machine types the text of --expect.

    An adjustment parts the count: press t before you turn the screw, say what you did, Enter; or say it from
    another window with --mark; or write it in the book under --machine, on the bench for example. Errors, drift and
    ripple are then told for each side.

    Exit code 0 when the share of wrong characters is shown to be below --claim, 1 when it is shown to be above,
    otherwise 3.

    Example: tapewright line soak --from sound --expect @fox.txt --state petrel.soak
    """
    from tapewright.furniture.document import to_builtins
    from tapewright.line.live.soak_document import soak_document
    from tapewright.line.live.soak_files import add_mark, read_state
    from tapewright.line.live.soak_report import soak_text
    from tapewright.line.live.soak_sides import MOST_SIDES

    if mark is not None:
        if len(read_state(state)[0].earlier) + 2 > MOST_SIDES:
            raise WrongUseError(f"--mark: this soak was parted {MOST_SIDES} times; begin a new --state.")
        add_mark(state, " ".join(mark.split()) or "something was adjusted")
        click.echo("Marked: the soak that runs takes it in now, else the next one with this --state.", err=as_json)
        return DONE
    if report:
        found, _ = read_state(state)
    elif source is None or expect is None:
        raise WrongUseError("Say with --from what to watch and with --expect what is sent; or ask for a --report.")
    else:
        found = _run(source, text_argument(expect), state, keep, said, quiet=as_json)
    document = soak_document(found, claim)
    write_json(to_builtins(document)) if as_json else click.echo(soak_text(document, ALPHABETS[said["alphabet"]]))
    if keep is not None:
        _keep(keep, found, expect or "", state, quiet=as_json)
    return EXITS[document.verdicts[0].state]


def _run(spec: str, text: str, path: Path, keep: Keeping | None, said: dict[str, Any], *, quiet: bool) -> Any:
    """Run until the source ends, the end that was said, or Ctrl-C; give the state."""
    from tapewright.furniture.keyboard import keys
    from tapewright.line.from_settings import line_settings
    from tapewright.line.live.live_line import LiveLine
    from tapewright.line.live.soak import Soak
    from tapewright.line.live.soak_files import read_state
    from tapewright.line.live.soak_run import run_soak
    from tapewright.line.live.watch import Until, Watch
    from tapewright.recordings.capture import SOAK_CAUTIONS
    from tapewright.recordings.live.asked import Asked
    from tapewright.recordings.live.sources import file_named, open_source

    named = ("nominal", "alphabet", "idle")
    settings = line_settings({**_DEFAULTS, **{name: said[name] for name in named}}, None)
    codes = _codes(text, settings.alphabet)
    found, before = read_state(path) if path.exists() else (None, codes)
    if before != codes:
        raise WrongUseError(f"{path.name} is of another text; name another --state, or give the same --expect.")
    one = Soak(codes, found)
    if found is not None:
        one.state.restarts += 1
    name = file_named(spec)
    if one.begins(name):
        click.echo(f"{name}: {one.state.source_seconds / 60:.1f} min of it are counted already; it goes on from there.",
                   err=True)  # fmt: skip
    asked = Asked(rate_hz=said["rate"], channel=said["channel"], baud=settings.nominal_baud, text=text,
                  fast=said["fast"], follow=said["follow"], raw=said["raw"], profile=said["profile"],
                  seed=said["seed"])  # fmt: skip
    remind(spec, SOAK_CAUTIONS, is_file=bool(file_named(spec)))
    source = open_source(spec, asked)
    watch = Watch(source, LiveLine(settings, source.rate_hz, seldom=True))
    try:
        with keys() as keyboard, _changes(keep) as changes:
            hands = SoakHands(path, keyboard, changes)
            run_soak(watch, one, Until(said["seconds"], said["characters"]), _Keeper(path, codes, quiet), hands)
    finally:
        source.close()
    return one.state


@contextmanager
def _changes(keep: Keeping | None) -> Iterator[Any]:
    """Return what asks the book for adjustments and trials of the machine; None without one."""
    if keep is None:
        yield None
        return
    with record().changes_since(keep.book, keep.machine) as ask:
        yield ask


_DEFAULTS: dict[str, Any] = {
    "threshold": "auto", "clock_ppm": 0.0, "expect": None, "window": 0.2, "unshift_on_space": False,
}  # fmt: skip


def _codes(text: str, alphabet: Any) -> list[str]:
    from tapewright.alphabets import encode

    try:
        codes = encode(text, alphabet)
    except ValueError as reason:
        raise WrongUseError(f"--expect: {reason}.") from reason
    if not codes:
        raise WrongUseError("--expect: a soak needs a text.")
    return codes


class _Keeper:
    """Writes state and log as the soak goes on."""

    def __init__(self, path: Path, codes: list[str], quiet: bool) -> None:
        self._path, self._codes, self._quiet = path, codes, quiet
        self._saved_s = self._logged_s = 0.0

    def goes_on(self, state: Any, *, end: bool = False) -> None:
        """Write what is due."""
        from tapewright.furniture.document import to_builtins
        from tapewright.line.live.soak_document import soak_document
        from tapewright.line.live.soak_files import append_log, write_state

        if end or state.seconds - self._saved_s >= SAVE_EVERY_S:
            self._saved_s = state.seconds
            write_state(self._path, state, self._codes)
        if end or state.seconds - self._logged_s >= LOG_EVERY_S:
            self._logged_s = state.seconds
            said = to_builtins(soak_document(state))
            said.pop("speed_log")
            append_log(self._path.with_name(self._path.name + ".log"), said)
            side = f" since {state.label}" if state.label else ""
            rate = f"rate below {100 * state.rate.upper_95:.3g} %" if state.characters else "learning"
            counted = f"{state.characters} characters, {state.wrong} wrong"
            click.echo(f"{state.seconds / 60:8.1f} min  {counted}, {rate}{side}", err=self._quiet)


def _keep(keep: Keeping, state: Any, text: str, path: Path, *, quiet: bool) -> None:
    """Write how it stands into the book; what an earlier part wrote of the same soak is replaced, not added to."""
    from tapewright.furniture.document import to_builtins
    from tapewright.line.live.soak_document import soak_document
    from tapewright.line.live.soak_files import kept_as, write_kept

    body: dict[str, Any] = {"characters": state.characters, "wrong": state.wrong,
                            "minutes": (state.seconds - state.begun_s) / 60}  # fmt: skip
    body["counted_by"] = "line soak"
    if text:
        body["text"] = text
    if keep.noted.get("note"):
        body["note"] = keep.noted["note"]
    if "supply_percent" in keep.noted:
        body["supply_percent"] = keep.noted["supply_percent"]
    key, side = kept_as(path)
    if state.label:
        # what it was like before stands in the line of the earlier side, or here: it proves nothing of the machine now
        body["after"], body["sides"] = state.label, to_builtins(soak_document(state).sides[:-1])
    # another side is another soak: the line of the earlier one stays what it was
    same = key if side == len(state.earlier) else ""
    entry = record().write_in_book(keep, "soak", body, replaces=same, reason="the same run, counted on")
    click.echo(f"In the book: {entry.key[:12]}, line {entry.number}.", err=quiet)
    write_kept(path, entry.key, len(state.earlier))


#: between two looks at the file of marks, and at the book
MARKS_EVERY_S, BOOK_EVERY_S = 0.5, 5.0
UNNAMED = "something was adjusted"
#: number and words of each adjustment and trial after a number; after -1: of the last only
Changes = Callable[[int], Sequence[tuple[int, str]]]


class SoakHands:
    """All three.

    Args:
        path: of the state.
        keyboard: t says that something is being turned; words and Enter, what; Escape, nothing.
        changes: asks the book; None without a machine of the book.
        clock: gives monotonic seconds.
    """

    def __init__(
        self, path: Path, keyboard: Keys, changes: Changes | None = None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._path, self._keyboard, self._changes, self._clock = path, keyboard, changes, clock
        self._typing: str | None = None
        self._marks_at_s = self._book_at_s = float("-inf")

    def since(self, state: SoakState) -> Sequence[Said]:
        """Return what was said since the last time."""
        return [*self._keys(), *self._marks(state), *self._book(state)]

    def _keys(self) -> list[Said]:
        return [said for key in self._keyboard.poll() if (said := self._key(key)) is not None]

    def _key(self, key: str) -> Said | None:
        if self._typing is None:
            if key not in "tT":
                return None
            self._typing = ""
            click.echo("what do you turn, and how far? (Enter marks it, Escape: nothing was turned)", err=True)
            return Said("turning")
        if key in "\r\n":
            label, self._typing = self._typing.strip() or UNNAMED, None
            click.echo(f"-- {label} --", err=True)
            return Said("marked", label)
        if key == "\x1b":
            self._typing = None
            click.echo("nothing was turned", err=True)
            return Said("nothing")
        if key in "\x7f\b":
            self._typing = self._typing[:-1]
        elif key.isprintable():
            self._typing += key
        return None

    def _marks(self, state: SoakState) -> list[Said]:
        now = self._clock()
        if now - self._marks_at_s < MARKS_EVERY_S:
            return []
        self._marks_at_s = now
        labels = marks_of(self._path, state.marks)
        state.marks += len(labels)
        return [Said("marked", label) for label in labels]

    def _book(self, state: SoakState) -> list[Said]:
        now = self._clock()
        if self._changes is None or now - self._book_at_s < BOOK_EVERY_S:
            return []
        self._book_at_s = now
        found = self._changes(state.book_line)
        # what stands there when the soak begins was done before it
        new = [] if state.book_line < 0 else [Said("marked", says) for _, says in found]
        state.book_line = max([state.book_line, 0, *(number for number, _ in found)])
        return new
