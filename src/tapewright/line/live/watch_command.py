"""`tapewright line watch`: each key as it is struck."""

import sys
from pathlib import Path
from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.errors import WrongUseError
from tapewright.furniture.acknowledge import remind
from tapewright.furniture.command import exit_code, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_options, keep_result
from tapewright.furniture.options import Number, files_given, text_argument
from tapewright.furniture.record import record
from tapewright.recordings.live.sources import file_named

#: files that keep samples
SAMPLED = (".wav", ".npy")
TONES = ("1", "2", "3", "4", "5", "stop")


@click.command()
@click.option("--from", "source", metavar="SOURCE",
              help="What shows the line: see --list. A file's name, or - for a pipe.")  # fmt: skip
@click.option("--list", "list_them", is_flag=True, help="List the sources, those that cannot be used with the remedy.")
@click.option("--nominal", default="auto", show_default=True, help="Speed it should have, in baud: 45.45, 50, ...")
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
              help="Code table: ita2, or us for the US commercial figures.")
@click.option("--idle", type=click.Choice(["auto", "high", "low"]), default="auto", show_default=True,
              help="Level of the line at rest (mark).")  # fmt: skip
@click.option("--threshold", default="auto", show_default=True, help="Level, or LOW,HIGH, in the source's own units.")
@click.option("--clock-ppm", type=Number(0, 1e5), default=0.0, help="How far the source's clock may be out.")
@click.option("--expect", help="Text that was sent, or @FILE with it.")
@click.option("--limits", type=click.Path(path_type=Path), help="Your own limits, as TOML.")
@click.option("--window", type=Number(0, 0.99), default=0.2, show_default=True,
              help="Width of a receiver's look, as a share of the unit.")  # fmt: skip
@click.option("--unshift-on-space", is_flag=True, help="The machine goes back to letters on a space.")
@click.option("--rate", type=Number(1, 1e8), help="Samples a second to take, or that a raw file has.")
@click.option("--channel", type=click.IntRange(1, 64), help="Which channel of the source.")
@click.option("--raw", type=click.Choice(["u8", "s16", "s32", "f32", "logic"]), help="What raw samples are.")
@click.option("--follow", is_flag=True, help="Wait for more at the end of a file.")
@click.option("--profile", type=click.Path(path_type=Path), help="An oscilloscope's own words, as TOML.")
@click.option("--type", "typed", default="", help="What the practice machine types, over and over.")
@click.option("--fast", is_flag=True, help="The practice machine as fast as this computer can.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="Of the practice machine's chance.")
@click.option("--record", type=click.Path(path_type=Path), metavar="FILE",
              help="Keep the raw signal: .wav or .npy, .csv for a source of edges.")  # fmt: skip
@click.option("--seconds", type=Number(0.1, 1e7), help="End after so much of the line.")
@click.option("--characters", type=click.IntRange(1), help="End after so many characters.")
@click.option("--tone", type=click.Choice(TONES), help="Sound how late this contact is, for busy hands.")
@click.option("--speak", type=click.Choice(TONES), help="Say how late this contact is, for busy hands and eyes.")
@click.option("--speak-with", metavar="PROGRAM", help="Your own speech program; takes the words as its argument.")
@click.option("--tone-opening", is_flag=True, help="Its opening instead of its closing, sounded or said.")
@click.option("--plain", is_flag=True, help="Lines instead of a drawn screen.")
@keep_options
@json_option
def watch(source: str | None, list_them: bool, keep: Keeping | None, as_json: bool, **said: Any) -> int:
    """Watch a line live: each character as it is struck, how late each contact was, the speed now.

    Keys: h holds the screen still (nothing is lost), t marks a trial: press it before you turn the screw,
    say what you did, Enter; what was keyed before and after is compared. q ends, and prints the figures.

    Example: tapewright line watch --from sound --nominal 45.45 --record morning.wav
    """
    from tapewright.line.live.watch_json import offer_document
    from tapewright.line.live.watch_text import offers_text
    from tapewright.line.live.watch_voice import unavailable
    from tapewright.recordings.live.sources import on_offer

    if list_them:
        silent = unavailable()
        write_json(offer_document(on_offer(), silent)) if as_json else click.echo(offers_text(on_offer(), silent))
        return 0
    if source is None:
        raise WrongUseError("Say what to watch with --from; --list shows what there is.")
    if keep is not None and said["record"] is None:
        raise WrongUseError("--machine: say with --record where the raw signal goes; the book keeps it as evidence.")
    return _watch(source, as_json, keep, said)


def _watch(spec: str, as_json: bool, keep: Keeping | None, said: dict[str, Any]) -> int:
    from tapewright.furniture.keyboard import keys
    from tapewright.line.from_settings import line_settings, threshold_of
    from tapewright.line.live.live_line import LiveLine
    from tapewright.line.live.watch import Until, Watch
    from tapewright.line.live.watch_display import display_for
    from tapewright.recordings.capture import WATCH_CAUTIONS
    from tapewright.recordings.edges.blocks import Thresholds
    from tapewright.recordings.live.recorder import Recorder
    from tapewright.recordings.live.sources import open_source

    said["expect"] = None if said["expect"] is None else text_argument(said["expect"])
    settings = line_settings(said, said["limits"])
    threshold = threshold_of(said["threshold"])
    levels = None
    if threshold != "auto":
        low, high = min(threshold), max(threshold)
        levels = Thresholds(low, (low + high) / 2, high)
    voice = _voice(said)
    remind(spec, WATCH_CAUTIONS, is_file=bool(file_named(spec)))
    source = open_source(spec, _asked(said, settings.nominal_baud))
    keeper = None
    try:
        if keep is not None:
            _can_be_kept(source, said["record"])
        keeper = Recorder(said["record"], source.rate_hz) if said["record"] else None
        one = Watch(source, LiveLine(settings, source.rate_hz, levels), keeper)
        display = display_for(one, as_json=as_json, plain=said["plain"], tone=_tone(said), voice=voice)
        with keys() as keyboard, display:
            try:
                for moment in one.moments(Until(said["seconds"], said["characters"])):
                    display.take(moment)
                    display.press(keyboard.poll())
            except KeyboardInterrupt:
                display.end_by_hand()
    finally:
        source.close()
        if keeper is not None:
            keeper.close()
    code = 0
    if one.failed is None or one.line.characters:
        code = _report(one, settings, said, as_json, keep, display.trials.bodies())
    if one.failed is not None:  # all that came before is told and kept; then why it ended
        raise one.failed
    return code


def _can_be_kept(source: Any, record: Path) -> None:
    """Refuse at once, not after an hour of watching, what the book could not measure again."""
    if source.rate_hz is None:
        raise WrongUseError(
            "--machine: this source gives edges or characters, and the book keeps a raw signal that can be measured "
            "again. Watch it without --machine; what it shows can go in as an observation (machine log)."
        )
    if record.suffix.lower() not in SAMPLED:
        kinds = " or ".join(SAMPLED)
        raise WrongUseError(f"--record {record.name}: with --machine the raw signal goes into a {kinds} file.")


def _asked(said: dict[str, Any], nominal_baud: float | None) -> Any:
    from tapewright.recordings.live.asked import Asked

    return Asked(
        rate_hz=said["rate"],
        channel=said["channel"],
        baud=nominal_baud,
        text=said["typed"],
        fast=said["fast"],
        follow=said["follow"],
        raw=said["raw"],
        profile=said["profile"],
        seed=said["seed"],
    )


def _tone(said: dict[str, Any]) -> Any:
    from tapewright.line.live.watch_tone import Tone

    return Tone(said["tone"], closing=not said["tone_opening"]) if said["tone"] else None


def _voice(said: dict[str, Any]) -> Any:
    from tapewright.line.live.watch_voice import Voice, command_for

    if not said["speak"]:
        if said["speak_with"]:
            raise WrongUseError("--speak-with: say with --speak which contact is spoken of.")
        return None
    return Voice(said["speak"], closing=not said["tone_opening"], command=command_for(said["speak_with"]))


def _report(
    one: Any, settings: Any, said: dict[str, Any], as_json: bool, keep: Keeping | None, trials: list[Any]
) -> int:
    """Print the figures of the whole watch, and give the exit code."""
    from tapewright.line.from_settings import threshold_of
    from tapewright.line.live.watch import raw_signal, report_of
    from tapewright.line.live.watch_display import json_text
    from tapewright.line.live.watch_json import end_line
    from tapewright.line.read import HowToRead, line_document
    from tapewright.line.text import line_text
    from tapewright.recordings.files.on_disk import CaptureFilesOnDisk

    if not one.line.tells_timing:
        if as_json:
            click.echo(json_text(end_line(one.samples, one.gaps, "nothing: this source tells no timing", {})))
        return 0
    channel = None if one.keeper is not None else str(said["channel"] or 1)
    how = HowToRead(channel, one.source.rate_hz, threshold_of(said["threshold"]))
    report = report_of(one, settings, how, files=CaptureFilesOnDisk())
    kept = f"the raw signal in {report.file}" if raw_signal(one) else "the edges of the last characters"
    if as_json:
        click.echo(json_text(end_line(one.samples, one.gaps, kept, line_document(report))))
    else:
        click.echo(f"\nThe whole watch, from {kept}:\n{line_text(report)}")
    sys.stdout.flush()
    if keep is not None:
        _keep(keep, one, report, said, as_json, trials)
    return exit_code(report.result.verdicts)


def _keep(keep: Keeping, one: Any, report: Any, said: dict[str, Any], as_json: bool, trials: list[Any]) -> None:
    """Write the evidence with its raw signal into the book, and each trial with what it did."""
    from tapewright.line.read import line_document
    names = ("nominal", "alphabet", "idle", "threshold", "clock_ppm", "expect", "window", "unshift_on_space")
    settings = {name: said[name] for name in names}
    if one.keeper.path.suffix.lower() == ".npy":
        settings["rate"] = one.source.rate_hz
    files = files_given(capture=one.keeper.path, limits=said["limits"])
    keep_result(keep, lambda: line_document(report), files, "line read", settings, quiet=as_json)
    for trial in trials:
        record().write_in_book(keep, "trial", trial)
