"""Sampled volts as bench instruments write them into text files: headers, decimal commas, times of day and more.

No maker's file is copied; these are the habits that occur everywhere (common practice, no source).
"""

import gzip
import itertools
from collections.abc import Callable
from pathlib import Path

import numpy as np

from worlds.line.files_signal import Signal, Written, rounded


def table(
    signal: Signal, form_s: str = "%.6f", form_v: str = "%.4f", scale: float = 1.0
) -> tuple[list[str], list[str], dict[str, np.ndarray]]:
    """Return cells of time (times `scale`) and volts, and what they say: times_s and columns."""
    times, said_s = rounded(signal.times_s * scale, form_s)
    volts, said_v = rounded(signal.volts, form_v)
    return times, volts, {"times_s": said_s / scale, "LINE": said_v}


def finish(path: Path, text: str, said: dict[str, np.ndarray], encoding: str = "utf-8") -> Written:
    """Write the text and return its truth."""
    path.write_bytes(text.encode(encoding))
    columns = {name: values for name, values in said.items() if name != "times_s"}
    return Written(path, "samples", said["times_s"], columns, time_step_s=1e-6)


def rows(*columns: list[str], separator: str = ",", end: str = "\n") -> str:
    """Return rows of cells."""
    return "".join(separator.join(cells) + end for cells in zip(*columns, strict=True))


def units_row(signal: Signal, path: Path) -> Written:
    """Names, then a row of units."""
    times, volts, said = table(signal)
    return finish(path, "Time,LINE\n(s),(V)\n" + rows(times, volts), said)


def small_units(signal: Signal, path: Path) -> Written:
    """Milliseconds and millivolts, said in the names."""
    times, _, said = table(signal, "%.3f", scale=1e3)
    millivolts, said_mv = rounded(signal.volts * 1e3, "%.1f")
    return finish(path, "Time [ms],LINE [mV]\n" + rows(times, millivolts), {**said, "LINE": said_mv / 1e3})


def start_and_increment(signal: Signal, path: Path) -> Written:
    """The number of each sample; begin and increment stand in the header only."""
    _, volts, said = table(signal)
    head = f"Sample,LINE,Start,Increment\n,Volt,{signal.begin_s:.6E},{signal.interval_s:.6E}\n"
    index = [str(i) for i in range(len(volts))]
    exact = float(f"{signal.begin_s:.6E}") + np.arange(len(volts)) * float(f"{signal.interval_s:.6E}")
    return finish(path, head + rows(index, volts, [""] * len(volts), [""] * len(volts)), {**said, "times_s": exact})


def values_only(signal: Signal, path: Path) -> Written:
    """A preamble with the interval between samples, then one value a row."""
    _, volts, said = table(signal)
    head = f"Record length,{len(volts)}\nSample interval,{signal.interval_s:.7e},s\nVertical unit,V\nData\n"
    exact = np.arange(len(volts)) * float(f"{signal.interval_s:.7e}")
    return finish(path, head + rows(volts), {**said, "times_s": exact})


def preamble(signal: Signal, path: Path) -> Written:
    """Twelve rows of settings before the table."""
    times, volts, said = table(signal)
    settings = {
        "Instrument": "bench oscilloscope",
        "Firmware": "2.10",
        "Record": len(volts),
        "Sample rate": f"{signal.rate_hz:g}",
        "Coupling": "DC",
        "Probe": "10",
        "Volts/div": "1.00",
        "Time/div": "0.05",
        "Trigger": "rising, 2.50 V",
        "Remark": '"harbour museum, Heron, as found"',
    }
    head = "".join(f"{name},{value}\n" for name, value in settings.items())
    return finish(path, head + "\nTIME,LINE\n" + rows(times, volts), said)


def preamble_beside(signal: Signal, path: Path) -> Written:
    """The preamble stands in the first columns beside the first rows of the table."""
    times, volts, said = table(signal)
    notes = [("Points", str(len(volts)), ""), ("Interval", f"{signal.interval_s:.6e}", "s"), ("Scale", "1", "V")]
    notes += [("", "", "")] * (len(volts) - len(notes))
    return finish(path, rows(*[list(x) for x in zip(*notes, strict=True)], times, volts), said)


def segments(signal: Signal, path: Path) -> Written:
    """The header comes again before each of three pieces; the times run on."""
    times, volts, said = table(signal)
    cuts = [0, len(volts) // 3, 2 * len(volts) // 3, len(volts)]
    pieces = [
        f"Segment,{i + 1}\nTime,LINE\ns,V\n" + rows(times[a:b], volts[a:b])
        for i, (a, b) in enumerate(itertools.pairwise(cuts))
    ]
    return finish(path, "\n".join(pieces), said)


def semicolons(signal: Signal, path: Path) -> Written:
    """Decimal commas between semicolons."""
    times, volts, said = table(signal)
    body = rows(times, volts, separator=";").replace(".", ",")
    return finish(path, "Zeit;LINE\ns;V\n" + body, said)


def quoted_commas(signal: Signal, path: Path) -> Written:
    """Decimal commas in quotes, between semicolons; thousands are not marked."""
    times, volts, said = table(signal)
    quoted = [[f'"{cell}"'.replace(".", ",") for cell in column] for column in (times, volts)]
    return finish(path, '"Time";"LINE"\n"s";"V"\n' + rows(*quoted, separator=";"), said)


def quoted_between_commas(signal: Signal, path: Path) -> Written:
    """Decimal commas in quotes, between commas."""
    times, volts, said = table(signal)
    quoted = [[f'"{cell}"'.replace(".", ",") for cell in column] for column in (times, volts)]
    return finish(path, '"Time (s)","LINE (V)"\n' + rows(*quoted), said)


def tabs(signal: Signal, path: Path) -> Written:
    """Tabs, empty rows, the other line ending."""
    times, volts, said = table(signal)
    return finish(path, "\r\nTime (s)\tLINE (V)\r\n\r\n" + rows(times, volts, separator="\t", end="\r\n"), said)


def overload(signal: Signal, path: Path) -> Written:
    """Here and there a cell says Inf, -Inf or OL: beyond the instrument's range."""
    times, volts, said = table(signal)
    said_v = said["LINE"].copy()
    for i in range(20, len(volts), 331):
        volts[i] = ("Inf", "OL", "-Inf")[i % 3]
        said_v[i] = np.nan
    return finish(path, "Time (s),LINE (V)\n" + rows(times, volts), {**said, "LINE": said_v})


def scientific(signal: Signal, path: Path) -> Written:
    """Signed scientific notation padded with blanks, remarks behind #."""
    times, volts, said = table(signal, "%+.7E", "%+.4E")
    padded = [" " + cell for cell in volts]
    return finish(path, f"# LINE in V\n# {signal.rate_hz:.0f} samples a second\n" + rows(times, padded), said)


def zipped(signal: Signal, path: Path) -> Written:
    """A table, compressed."""
    times, volts, said = table(signal)
    done = finish(path.with_suffix(".csv.gz"), "Time (s),LINE (V)\n" + rows(times, volts), said)
    done.path.write_bytes(gzip.compress(done.path.read_bytes(), mtime=0))
    return done


def wide_characters(signal: Signal, path: Path) -> Written:
    """UTF-16 with its mark at the begin, tabs."""
    times, volts, said = table(signal)
    return finish(
        path, "Time (s)\tLINE (V)\r\n" + rows(times, volts, separator="\t", end="\r\n"), said, encoding="utf-16"
    )


def time_of_day(signal: Signal, path: Path) -> Written:
    """Hours, minutes and seconds; six places."""
    first_s = 9 * 3600 + 41 * 60 + 58.25
    micros = np.rint((first_s + signal.times_s) * 1e6).astype(np.int64)
    cells = [
        f"{m // 3_600_000_000:02d}:{m // 60_000_000 % 60:02d}:{m // 1_000_000 % 60:02d}.{m % 1_000_000:06d}"
        for m in micros.tolist()
    ]
    _, volts, said = table(signal)
    return finish(path, "Time,LINE (V)\n" + rows(cells, volts), {**said, "times_s": micros / 1e6})


def date_and_time(signal: Signal, path: Path) -> Written:
    """Date and time of day in one cell."""
    done = time_of_day(signal, path)
    text = "".join(f"2024-03-09T{row}\n" if row[:1].isdigit() else row + "\n" for row in path.read_text().splitlines())
    return finish(path, text, {"times_s": done.times_s, **done.columns})


def summary_at_end(signal: Signal, path: Path) -> Written:
    """After the table: smallest, largest, mean."""
    times, volts, said = table(signal)
    sums = {"Minimum": np.min(signal.volts), "Maximum": np.max(signal.volts), "Mean": np.mean(signal.volts)}
    tail = "".join(f"{name},{value:.3f}\n" for name, value in sums.items())
    return finish(path, "Time (s),LINE (V)\n" + rows(times, volts) + "\n" + tail + "End of record\n", said)


def four_channels(signal: Signal, path: Path) -> Written:
    """Four columns of volts; the line is the third."""
    times, volts, said = table(signal)
    others = {name: rounded(3.3 * signal.levels[name], "%.3f") for name in ("CLOCK", "KEY", "SPARE")}
    head = "Time (s),CLOCK (V),KEY (V),LINE (V),SPARE (V)\n"
    body = rows(times, others["CLOCK"][0], others["KEY"][0], volts, others["SPARE"][0])
    return finish(path, head + body, {**said, **{name: values for name, (_, values) in others.items()}})


def since_last_row(signal: Signal, path: Path) -> Written:
    """Whole microseconds since the row before."""
    micros = np.rint(np.diff(signal.times_s, prepend=signal.times_s[0]) * 1e6).astype(int)
    _, volts, said = table(signal)
    head = "Delta (us),LINE (V)\n"
    return finish(path, head + rows([str(m) for m in micros], volts), {**said, "times_s": np.cumsum(micros) / 1e6})


def counts(signal: Signal, path: Path) -> Written:
    """Counts of the converter; scale and zero stand in the preamble."""
    samples, (low, high) = signal.recording.samples, signal.recording.instrument.range_v
    assert samples is not None
    per_count = float(f"{(high - low) / 1023:.9e}")
    times, _, said = table(signal)
    head = f"Volts per count,{per_count:.9e}\nVolts at count 0,{low:g}\nTime (s),LINE (counts)\n"
    return finish(path, head + rows(times, [str(c) for c in samples]), {**said, "LINE": low + per_count * samples})


def comma_at_end(signal: Signal, path: Path) -> Written:
    """Each row ends in a comma; the names are in quotes."""
    times, volts, said = table(signal)
    return finish(path, '"Time (s)","LINE (V)",\n' + rows(times, volts, [""] * len(volts)), said)


def bare(signal: Signal, path: Path) -> Written:
    """Two columns of numbers and not a word."""
    times, volts, said = table(signal)
    return finish(path, rows(times, volts), said)


SAMPLES: tuple[Callable[[Signal, Path], Written], ...] = (
    units_row,
    small_units,
    start_and_increment,
    values_only,
    preamble,
    preamble_beside,
    segments,
    semicolons,
    quoted_commas,
    quoted_between_commas,
    tabs,
    overload,
    scientific,
    zipped,
    wide_characters,
    time_of_day,
    date_and_time,
    summary_at_end,
    four_channels,
    since_last_row,
    counts,
    comma_at_end,
    bare,
)
