"""`tapewright line margin`: the receiver's orientation range and margin, in the fewest questions."""

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import click

from tapewright.alphabets import ALPHABETS
from tapewright.errors import WrongUseError
from tapewright.furniture.acknowledge import acknowledge, acknowledged_option
from tapewright.furniture.command import exit_code, json_option, write_json
from tapewright.furniture.keeping import Keeping, keep_cautions, keep_for_options, keep_result, settings_of
from tapewright.furniture.options import Number
from tapewright.furniture.stop_signals import stops_raise
from tapewright.margin.ends import Scale
from tapewright.margin.files import JudgedFiles
from tapewright.margin.find import MOST_QUESTIONS, Judge, Search, find_margin
from tapewright.number import Limit, Source, Standing
from tapewright.reference.itu_t_s3 import RECEIVER_MARGIN
from tapewright.sender.compose import Sender
from tapewright.sender.compose_options import keying_from, send_options, sender_from, some_codes_from

#: setting -> the usual scale: the pointer's, from memory; the signal's, per cent of a unit either way
SCALES = {"scale": (0.0, 120.0), "signal": (-60.0, 60.0)}
ENDS = Number(-200, 200)
MOST_ASKED = 100
#: what keeps a signal within its own character when it is shifted
LEAST, MOST_POINTS = 10.0, 240.0


@click.command()
@click.argument("text", required=False)
@click.option("--to", "sink", metavar="SINK", help="Send the test line there each time; see `line send --list`.")
@click.option("--by", "way", type=click.Choice(list(SCALES)), default="scale", show_default=True,
              help="You turn the machine's orientation scale, or the signal is shifted instead.")  # fmt: skip
@click.option("--scale", nargs=2, type=ENDS, metavar="LOW HIGH", help="Ends of the scale. [default: 0 120, or -60 60]")
@click.option("--most", type=click.IntRange(4, MOST_ASKED), default=MOST_QUESTIONS, show_default=True,
              help="Most questions.")  # fmt: skip
@click.option("--answers", type=click.Path(path_type=Path, dir_okay=False), help="Take the answers from this file.")
@click.option("--session", type=click.Path(path_type=Path, dir_okay=False),
              help="Keep the answers here, and go on from them.")  # fmt: skip
@click.option("--stands", type=ENDS, metavar="AT", help="Where the machine's pointer stood when you came to it.")
@click.option("--speed-proven", is_flag=True, help="The machine's speed is proven; else the margin is not judged.")
@click.option("--limit", type=Number(0, 50), metavar="P", help="Your own least margin. [default: 35 %, ITU-T S.3]")
@click.option("--tone", type=Number(20, 96_000), metavar="HZ", help="Key a tone instead of baseband.")
@acknowledged_option
@send_options
@keep_for_options
@json_option
def margin(text: str | None, keep: Keeping | None, as_json: bool, **chosen: Any) -> int:
    """Find a receiver's orientation range and margin in the fewest questions.

    For each question: set the pointer (or let the signal be shifted), let the test line print, and answer right,
    wrong or can't say; or name a picture of the tape or a capture of the echo, and it is read instead of you.
    With --to practice the practice machine answers.

    Example: tapewright line margin --to sound --tone 2000 --session heron.json --speed-proven
    """
    from tapewright.margin.document import judge_margin
    from tapewright.margin.files import read_session, write_session
    from tapewright.margin.report import margin_document, margin_words

    if text is None and chosen["pattern"] is None:
        chosen["pattern"] = "pangram"
    codes, sender = some_codes_from(text, chosen), sender_from(chosen)
    search = Search(_scale(chosen), chosen["most"], limit=_limit(chosen["limit"]))
    about = {"by": chosen["way"], "codes": codes, "baud": sender.exact_baud, "bias_percent": sender.bias_percent,
             "end_percent": sender.end_percent}  # fmt: skip
    session: Path | None = chosen["session"]
    if session is not None:
        read_session(session, search, about)

    def note(now: Search) -> None:
        if session is not None:
            write_session(session, now, about)

    with stops_raise(), _judged_files(session) as judged:
        found = find_margin(search, _judge(codes, sender, chosen, keep, judged), note)
        verdict = judge_margin(found, _limit(chosen["limit"]), chosen["speed_proven"])
        document = margin_document(search, found, verdict, chosen["way"], judged.names(len(search.asked)),
                                   speed_proven=chosen["speed_proven"], stands_at=chosen["stands"])  # fmt: skip
        if as_json:
            write_json(document)
        else:
            click.echo(margin_words(search, found, verdict, chosen["way"]))
        files = {f"question {number}": file for number, file in judged.of(len(search.asked)).items()}
        keep_result(keep, lambda: document, files, "line margin", settings_of({"text": text, **chosen}), quiet=as_json)
    return exit_code([verdict])


@contextmanager
def _judged_files(session: Path | None) -> Iterator[JudgedFiles]:
    """Return where files that answer are kept: beside the session, else until the result is in the book."""
    if session is not None:
        judged = JudgedFiles(session.with_name(session.name + ".judged"))
        for number in [] if session.exists() else judged.of(MOST_ASKED):
            judged.forget(number)  # of another search by the same name
        yield judged
    else:
        with tempfile.TemporaryDirectory(prefix="tapewright-margin-") as folder:
            yield JudgedFiles(Path(folder))


def _scale(chosen: dict[str, Any]) -> Scale:
    low, high = chosen["scale"] or SCALES[chosen["way"]]
    if not LEAST <= high - low <= MOST_POINTS:
        apart = f"{LEAST:g} to {MOST_POINTS:g} points apart"
        raise WrongUseError(f"--scale: expected LOW HIGH, {apart}, found {low:g} {high:g}.")
    if chosen["way"] == "signal" and max(abs(low), abs(high)) > SCALES["signal"][1]:
        raise WrongUseError("--scale: a signal is shifted by at most 60 per cent of a unit either way.")
    return Scale(low, high)


def _limit(owner_percent: float | None) -> Limit:
    if owner_percent is None:
        return RECEIVER_MARGIN
    return Limit(RECEIVER_MARGIN.check, owner_percent, None, "percent", Source("--limit", "", Standing.OWNER))


def _judge(
    codes: list[str], sender: Sender, chosen: dict[str, Any], keep: Keeping | None, judged: JudgedFiles
) -> Judge:
    """Choose who answers, and send the test line before each question when there is a sink."""
    from tapewright.margin.files import read_answers
    from tapewright.margin.judges import after_sending, by_answers, by_operator, by_practice

    send = _sends(codes, sender, chosen, keep) if chosen["sink"] else None
    if chosen["answers"] is not None:
        return after_sending(send, by_answers(read_answers(chosen["answers"])))
    if send is not None and chosen["sink"].partition(":")[0] == "practice":
        return by_practice(send, tuple(codes))
    return by_operator(send, tuple(codes), chosen["way"], ALPHABETS[chosen["alphabet"]], sender.exact_baud, judged)


def _sends(
    codes: list[str], sender: Sender, chosen: dict[str, Any], keep: Keeping | None
) -> Callable[[int, float], tuple[str, ...] | None]:
    """Return what sends the test line for a question, and gives what the practice machine printed of it."""
    from tapewright.sender.send import LOOP_CAUTIONS, send_signal, transmit
    from tapewright.sender.sinks.asked import Asked
    from tapewright.sender.sinks.sinks import open_sink

    way, keying = chosen["way"], keying_from(chosen)
    middle = sum(SCALES["scale"]) / 2 if chosen["scale"] is None else sum(chosen["scale"]) / 2
    if open_sink(chosen["sink"], Asked(tone_hz=chosen["tone"])).drives_loop:
        acknowledge(LOOP_CAUTIONS, acknowledged=chosen["acknowledged"])
        keep_cautions(keep, LOOP_CAUTIONS, "line margin")
    told: set[str] = set()

    def send(number: int, at: float) -> tuple[str, ...] | None:
        orientation = (at - middle) / 100 if way == "scale" else 0.0
        asked = Asked(tone_hz=chosen["tone"], seed=chosen["seed"] + number, orientation=orientation)
        shifted = shifted_start(sender, at) if way == "signal" else sender
        transmission = transmit(codes, shifted, keying, chosen["seed"] + number)
        delivered = send_signal(transmission, shifted, open_sink(chosen["sink"], asked), lambda _: None).delivered
        for said in delivered.notes:
            # such as a port that takes whole baud alone: what it says once, it says of all
            if said not in told:
                told.add(said)
                click.echo(f"   mind: {said}", err=True)
        return delivered.printed

    return send


def shifted_start(sender: Sender, percent: float) -> Sender:
    """Let every start come so much late: to the receiver all that follows is early, as if it looked later."""
    unit_ms = 1000 * sender.transmitter().motor.unit_s
    late = sender.opening_late_ms.get("stop", 0.0) + percent / 100 * unit_ms
    return replace(sender, opening_late_ms=sender.opening_late_ms | {"stop": late})
