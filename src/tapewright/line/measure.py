"""The whole line path, once, in order: edges > transitions > frames > instants > timing > receiver > text > verdict."""

from functools import partial

import numpy as np
from msgspec import structs

from tapewright.alphabets import decode
from tapewright.line.characters import list_characters, open_end_of
from tapewright.line.contacts import covariance_of, list_contacts
from tapewright.line.decomposition import decompose
from tapewright.line.distortion import doubt_order, state_distortion
from tapewright.line.document import Distortion, LineResult, LineSettings, LineSpeed, LineTrace
from tapewright.line.findings import list_findings, tone_hz
from tapewright.line.frames import ELEMENTS
from tapewright.line.lost_time import doubt_time, find_lost_time
from tapewright.line.motion import find_motion
from tapewright.line.own_kind import STARTS_AND_STOPS, may_swing, other_kind, reads_better
from tapewright.line.receiver import receive
from tapewright.line.ripple import Ripple
from tapewright.line.senders import FAR_DRIFT_PERCENT, TOO_FAR, TOO_FAR_PERCENT, find_senders
from tapewright.line.speed import character_speeds, drift, find_stream
from tapewright.line.speed_proof import state_speed
from tapewright.line.tail import spread_of
from tapewright.line.transitions import Transitions, find_transitions
from tapewright.line.unit_length import (
    HOPELESS_MISFIT,
    NO_SIGNAL,
    UnitGuess,
    find_unit,
    fit_following,
    fit_unit,
    settling_s,
)
from tapewright.line.verdict import judge_line
from tapewright.message import compare
from tapewright.message.comparison import keyed_message
from tapewright.number import missing
from tapewright.recordings.capture import RawEdges, Suspicion
from tapewright.recordings.edges.tone import KEYED

#: A polarity that fits this well needs no comparison with the other.
GOOD_MISFIT = 0.1
#: The other polarity must fit this much better before the user's own word is doubted.
FAR_BETTER = 0.3
#: Sampling coarser than this share of the unit cannot give timing to a per cent (0.1 ms in 20 ms; derived).
COARSE_UNITS = 0.006
TOO_SLOW = "too low a sample rate"
MOST_RIVALS = 3
#: What is said of a recording of tone, and of one before the keyer
NO_BOUNCE = "bounce is not shown: a keyed tone is seen through a window of some 3 ms, which smooths it away"
NO_TEXT = "characters of {} elements have no letters in the code tables here: their codes are listed"
KEYED_TONE = "this is a tone of some {:.0f} Hz keyed on and off, not the line"


def measure_line(edges: RawEdges, settings: LineSettings, guess: UnitGuess | None = None) -> LineResult:
    """Measure one recorded channel.

    Args:
        edges: every edge of it.
        settings: what the user knows about the signal.
        guess: unit and polarity when they are known already, as when a line is being watched.
    """
    suspicions: tuple[Suspicion, ...] = ()
    if guess is None:
        guess, suspicions = guess_unit(edges, settings)
    if guess is None:
        return _nothing(edges, settings, (*edges.suspicions, *suspicions))
    line = find_transitions(edges, mark_is_high=guess.mark_is_high, settling_s=settling_s(guess.unit_s))
    unit_s, _, frames, instants = fit_unit(line, guess.unit_s, settings.elements)
    if not frames.start.size:
        return _nothing(edges, settings, (*edges.suspicions, *suspicions))
    upside_down, settling = not guess.mark_is_high, settling_s(guess.unit_s)
    other = ""
    if settings.elements == ELEMENTS:
        other = other_kind(
            frames, unit_s, lambda: (line, find_transitions(edges, mark_is_high=upside_down, settling_s=settling))
        )
        followed = fit_following(line, unit_s) if may_swing(frames, other, instants.farthest(unit_s)) else None
        if followed is not None and reads_better(followed[1], frames):
            (unit_s, frames, instants), other = followed, ""
    if other:
        if not other.startswith(STARTS_AND_STOPS):  # plainly one kind of characters all along: not two senders
            other = find_senders(edges, guess.mark_is_high, settings.elements) or other
        return _nothing(edges, settings, (*edges.suspicions, *suspicions), other)
    # what the drive does to every instant alike must not blur what each contact does
    motion = find_motion(frames, instants, unit_s)
    groups, ripple, swing_s = motion.groups, motion.ripple, motion.displacement_s
    if not groups.mean_s.size:  # every instant is chatter: starts follow each other, but nothing between them is seen
        return _nothing(edges, settings, (*edges.suspicions, *suspicions))
    split = decompose(groups)
    speeds = character_speeds(frames, instants, groups, split.unit_s, swing_s)
    lost = find_lost_time(frames, line, split.unit_s)
    suspicions = (*edges.suspicions, *suspicions, *_coarse(edges, split.unit_s), *doubt_time(lost, frames))
    state = partial(
        state_speed,
        split,
        frames,
        settings,
        stream=find_stream(frames, speeds.stop_units, split.unit_s, groups.resolution_s),
        ripple=ripple,
        drift=drift(frames, speeds, split.unit_s),
        rival_s=guess.rival_s,
        suspicions=suspicions,
    )
    speed = state()
    if not speed.proven or abs(speed.drift_percent.value or 0.0) > FAR_DRIFT_PERCENT:
        senders = find_senders(edges, guess.mark_is_high, settings.elements)
        if not senders and abs(speed.drift_percent.value or 0.0) > TOO_FAR_PERCENT:
            senders = f"the speed changes by {speed.drift_percent} in the recording: {TOO_FAR}"
        speed = state(senders=senders) if senders else speed
    tail = spread_of(instants, groups, swing_s)
    distortion = state_distortion(instants, groups, split, speed, tail, steady=bool((frames.pace == 1.0).all()))
    contacts = list_contacts(line, frames, instants, groups, split)
    keyed = any(s.suspicion == KEYED for s in edges.suspicions)
    if keyed:
        contacts = tuple(structs.replace(c, bounce_ms=None) for c in contacts)
    receiver = (
        receive(instants, 1 / speed.nominal_baud, window=settings.window, elements=settings.elements, tail=tail)
        if speed.nominal_baud
        else None
    )
    characters = list_characters(
        frames,
        instants,
        speeds,
        line,
        settings.alphabet,
        split.unit_s,
        unshift_on_space=settings.unshift_on_space,
        beside_a_gap=lost.beside,
    )
    five = settings.elements == ELEMENTS
    codes = tuple(c.code for c, whole in zip(characters, frames.complete, strict=True) if whole)
    expect = settings.expect
    errors = None if expect is None or not five else compare(expect, keyed_message(codes, expect))
    suspicions = (*suspicions, *(doubt_order(codes, settings.alphabet) if five else ()))
    return LineResult(
        settings=settings,
        idle="high" if guess.mark_is_high else "low",
        speed=speed,
        text=decode(codes, settings.alphabet, unshift_on_space=settings.unshift_on_space) if five else "",
        codes=codes,
        characters=characters,
        distortion=distortion,
        contacts=contacts,
        covariance=covariance_of(split, contacts),
        receiver=receiver,
        errors=errors,
        suspicions=suspicions,
        verdicts=judge_line(speed, distortion, contacts, receiver, errors, settings.limits),
        findings=list_findings(speed, distortion, contacts),
        notes=(
            *_notes(line, speed, distortion, split.inseparable, frames.skipped, frames.breaks_s.size, settings),
            *filter(None, (open_end_of(frames, line, split.unit_s), NO_BOUNCE if keyed else None)),
            *_mirrors(ripple),
            *(() if five else (NO_TEXT.format(settings.elements),)),
        ),
        trace=LineTrace(edges, guess.mark_is_high, line, frames, instants, groups, speeds, split),
    )


def guess_unit(edges: RawEdges, settings: LineSettings) -> tuple[UnitGuess | None, tuple[Suspicion, ...]]:
    """Find unit and polarity; doubt the user's idle level only when the other fits far better."""
    about = None if settings.nominal_baud is None else 1 / settings.nominal_baud
    tried: dict[bool, UnitGuess | None] = {}
    for high in _likely_idle_first(edges, settings.idle):
        other = tried.get(not high)
        if other is not None and other.misfit < GOOD_MISFIT:
            break
        limit = other.misfit + HOPELESS_MISFIT if other else float("inf")
        tried[high] = find_unit(
            edges, mark_is_high=high, about_s=about, elements=settings.elements, hopeless_above=limit
        )
    found = {high: guess for high, guess in tried.items() if guess is not None and guess.misfit < NO_SIGNAL}
    if not found:
        return None, ()
    best = min(found, key=lambda high: (found[high].misfit, not high))
    if settings.idle == "auto":
        return found[best], ()
    asked = settings.idle == "high"
    if asked == best or asked not in found:
        mine = found.get(asked)
        return (mine, ()) if mine else (None, (_inverted(settings.idle),))
    doubtful = found[best].misfit < FAR_BETTER * found[asked].misfit and found[asked].misfit > 0.1
    return found[asked], (_inverted(settings.idle),) if doubtful else ()


def _likely_idle_first(edges: RawEdges, idle: str) -> tuple[bool, bool]:
    """Order the polarities to try: the user's own first, else the level with the longest rest."""
    if idle != "auto":
        return idle == "high", idle != "high"
    times = np.concatenate(([edges.begin_s], edges.times_s, [edges.end_s]))
    longest = int(np.argmax(np.diff(times)))
    high = bool(edges.starts_high) if longest == 0 else bool(edges.level_after[longest - 1])
    return high, not high


def _inverted(idle: str) -> Suspicion:
    other = "low" if idle == "high" else "high"
    return Suspicion(
        "inverted polarity",
        f"with the line idle {idle} the recording makes poor characters, with idle {other} good ones",
        f"Check which level the line has at rest; read again with --idle {other} or auto.",
    )


def _coarse(edges: RawEdges, unit_s: float) -> tuple[Suspicion, ...]:
    step = float(np.median(edges.u_s)) * np.sqrt(12) if edges.u_s.size else 0.0
    # a keyed tone's instants are as exact as its pitch allows: more samples would not help, and it says so itself
    said = any(s.suspicion in (TOO_SLOW, KEYED) for s in edges.suspicions)
    if said or step <= COARSE_UNITS * unit_s:
        return ()
    return (
        Suspicion(
            TOO_SLOW,
            f"an edge is known to {1e3 * step:.2f} ms, which is {100 * step / unit_s:.1f} % of a unit",
            f"For timing to one per cent record at {_round_up(1 / (0.005 * unit_s)):.0f} samples a second or more.",
        ),
    )


def _round_up(rate_hz: float) -> float:
    return float(np.ceil(rate_hz / 1000) * 1000)


def _notes(
    line: Transitions,
    speed: LineSpeed,
    distortion: Distortion,
    inseparable: tuple[str, ...],
    skipped: int,
    breaks: int,
    settings: LineSettings,
) -> tuple[str, ...]:
    out = list(inseparable)
    if speed.why:
        out.append(("the speed is not proven: " if not speed.proven else "the nominal speed is a guess: ") + speed.why)
    for reading in (speed.character_ms, speed.ripple_percent, speed.drift_percent, distortion.start_reference_percent):
        if reading.value is None and reading.how and reading.how not in out:
            out.append(reading.how)
    if skipped:
        out.append(f"{skipped} mark-to-space transitions begin no character (noise, or a character cut off)")
    if breaks:
        out.append(f"{breaks} line breaks: space for longer than any character")
    if distortion.odd:
        out.append(f"{distortion.odd} instants lie far from the rest of their kind; they count in no mean")
    glitches = int(np.count_nonzero(~line.dropout_in_mark))
    if glitches:
        out.append(f"{glitches} short marks inside a space: noise, a relay that bounces, or another sender on the line")
    if not settings.clock_ppm:
        out.append("the recorder's clock is taken as right; give its doubt with --clock-ppm")
    return tuple(out)


def _mirrors(ripple: Ripple | None) -> tuple[str, ...]:
    """Say which other swings would look the same."""
    if ripple is None or not ripple.shown or not ripple.rivals_hz:
        return ()
    others = " or ".join(f"{hz:.1f} Hz" for hz in ripple.rivals_hz[:MOST_RIVALS])
    return (
        f"so even a stream of characters does not tell a swing at {ripple.frequency_hz:.1f} Hz from a larger one "
        f"at {others}: key with pauses to tell them apart",
    )


def _nothing(edges: RawEdges, settings: LineSettings, suspicions: tuple[Suspicion, ...], other: str = "") -> LineResult:
    """Return that there are no characters, and what was there instead."""
    n = edges.times_s.size
    tone = tone_hz(edges)
    still = "the line never moves" if edges.starts_high is not None else "the recording shows no two levels"
    why = still if not n else f"the {n} edges make no start-stop characters at any usual speed"
    if tone is not None:
        why = f"{KEYED_TONE.format(tone)}: record what comes out of the keyer, or send without a tone"
    if other:
        why = f"this is {other}"
    gone = missing("ms", why)
    percent = missing("percent", why)
    speed = LineSpeed(
        unit_ms=gone,
        baud=missing("Bd", why),
        nominal_baud=settings.nominal_baud,
        nominal_given=settings.nominal_baud is not None,
        error_percent=percent,
        character_ms=gone,
        stop_units=missing("unit", why),
        characters_per_minute=missing("per minute", why),
        words_per_minute=missing("per minute", why),
        ripple_percent=percent,
        ripple_hz=missing("Hz", why),
        drift_percent=percent,
        proven=False,
        nominal_proven=False,
        why=why,
    )
    distortion = Distortion(
        gross_percent=percent,
        synchronous_percent=percent,
        early_percent=percent,
        late_percent=percent,
        n=0,
        marking_bias_percent=percent,
        end_percent=percent,
        start_reference_percent=percent,
        scatter_percent=percent,
    )
    return LineResult(
        settings=settings,
        idle=None if edges.starts_high is None or n else ("high" if edges.starts_high else "low"),
        speed=speed,
        text="",
        codes=(),
        characters=(),
        distortion=distortion,
        contacts=(),
        covariance=None,
        receiver=None,
        errors=compare(settings.expect, ()) if settings.expect is not None else None,
        suspicions=suspicions,
        verdicts=judge_line(speed, distortion, (), None, None, settings.limits),
        findings=(),
        notes=(f"no characters: {why}",),
        other=other,
        trace=None,
    )
