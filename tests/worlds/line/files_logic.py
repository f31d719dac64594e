"""Levels as logic analysers write them: lists of changes, durations, words, runs, bits, and value change dumps.

Value change dumps follow IEEE 1364-2005, clause 18, from memory: scalar values, vectors `b...`, reals `r...` that
hold until the next, `x` and `z`. All others: common practice, no source.
"""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import numpy as np

from worlds.line.files_signal import Signal, Written


def times_of(signal: Signal, index: np.ndarray) -> np.ndarray:
    """Return the time of samples after the first, in s, rounded to ns as all these files are."""
    return np.rint(index * signal.interval_s * 1e9) / 1e9


def write(
    signal: Signal,
    path: Path,
    text: str,
    index: np.ndarray,
    names: Iterable[str],
    content: str = "changes",
    ends: bool = False,
) -> Written:
    """Write the text and return its truth: levels of the named channels at the samples `index`."""
    path.write_text(text, newline="")
    end_s = float(times_of(signal, np.array([len(signal.volts)]))[0]) if ends else None
    columns = {name: signal.levels[name][index].astype(float) for name in names}
    step_s = 1e-6 if path.suffix == ".vcd" else 1e-9
    return Written(path, content, times_of(signal, index), columns, end_s=end_s, time_step_s=step_s)


def changes(signal: Signal, path: Path) -> Written:
    """A row for each change of the line."""
    index = signal.changes("LINE")
    body = "".join(f"{t:.9f},{v}\n" for t, v in zip(times_of(signal, index), signal.levels["LINE"][index], strict=True))
    return write(signal, path, "Time [s],LINE\n" + body, index, ["LINE"])


def changes_of_four(signal: Signal, path: Path) -> Written:
    """A row whenever any of four channels changes."""
    index = signal.changes(*signal.levels)
    cells = np.column_stack([signal.levels[name][index] for name in signal.levels]).tolist()
    body = "".join(
        f"{t:.9f}," + ",".join(map(str, row)) + "\n" for t, row in zip(times_of(signal, index), cells, strict=True)
    )
    return write(signal, path, "Time [s]," + ",".join(signal.levels) + "\n" + body, index, signal.levels)


def durations(signal: Signal, path: Path) -> Written:
    """Level and how long it lasted, in microseconds."""
    index = signal.changes("LINE")
    ends_s = times_of(signal, np.append(index, len(signal.volts)))
    lengths_us = np.diff(ends_s) * 1e6
    body = "".join(f"{v},{length:.3f}\n" for v, length in zip(signal.levels["LINE"][index], lengths_us, strict=True))
    return write(signal, path, "level,duration_us\n" + body, index, ["LINE"], ends=True)


def hex_samples(signal: Signal, path: Path) -> Written:
    """One hexadecimal word of four channels a sample; bit 0 is the line."""
    names = "".join(f"; bit {i},{name}\n" for i, name in enumerate(signal.levels))
    head = f"; sample rate,{signal.rate_hz:.0f}\n{names}word\n"
    body = "".join(f"0x{word:02X}\n" for word in signal.words())
    return write(signal, path, head + body, np.arange(len(signal.volts)), signal.levels, "samples")


def hex_changes(signal: Signal, path: Path) -> Written:
    """Time in ns and a hexadecimal word without a prefix at each change."""
    index = signal.changes(*signal.levels)
    head = "# bits 3..0: " + " ".join(reversed(list(signal.levels))) + "\ntime_ns,word_hex\n"
    body = "".join(
        f"{t * 1e9:.0f},{word:04x}\n" for t, word in zip(times_of(signal, index), signal.words()[index], strict=True)
    )
    return write(signal, path, head + body, index, signal.levels)


def runs(signal: Signal, path: Path) -> Written:
    """How many samples, and the level they had."""
    index = signal.changes("LINE")
    lengths = np.diff(np.append(index, len(signal.volts)))
    head = f"# samples per second: {signal.rate_hz:.0f}\ncount,LINE\n"
    body = "".join(f"{count},{v}\n" for count, v in zip(lengths, signal.levels["LINE"][index], strict=True))
    return write(signal, path, head + body, index, ["LINE"], ends=True)


def bits(signal: Signal, path: Path) -> Written:
    """A column of 0 and 1 for each channel, every sample, with its time."""
    index = np.arange(len(signal.volts))
    cells = np.column_stack([signal.levels[name] for name in signal.levels]).tolist()
    body = "".join(
        f"{t:.9f}, " + ", ".join(map(str, row)) + "\n" for t, row in zip(times_of(signal, index), cells, strict=True)
    )
    return write(signal, path, "Time[s], " + ", ".join(signal.levels) + "\n" + body, index, signal.levels, "samples")


def letters(signal: Signal, path: Path) -> Written:
    """H and L at each change."""
    index = signal.changes("LINE")
    body = "".join(
        f"{t:.9f};{'LH'[v]}\n" for t, v in zip(times_of(signal, index), signal.levels["LINE"][index], strict=True)
    )
    return write(signal, path, "time/s;LINE\n" + body, index, ["LINE"])


def dump(signal: Signal, header: str, events: list[tuple[int, str]]) -> str:
    """Return a value change dump in units of 1 us."""
    head = "$date today $end\n$version bench $end\n$timescale 1 us $end\n$scope module bench $end\n"
    text = [f"{head}{header}$upscope $end\n$enddefinitions $end\n"]
    last = -1
    for at_us, value in events:
        text.append((f"#{at_us}\n" if at_us != last else "") + value + "\n")
        last = at_us
    return "".join(text) + f"#{round(len(signal.volts) * signal.interval_s * 1e6)}\n"


def at_us(signal: Signal, index: np.ndarray) -> list[int]:
    """Return times of samples in whole microseconds."""
    return [round(float(i) * signal.interval_s * 1e6) for i in index]


def dump_scalars(signal: Signal, path: Path) -> Written:
    """Four wires."""
    marks = dict(zip(signal.levels, '!"#$', strict=True))
    header = "".join(f"$var wire 1 {mark} {name} $end\n" for name, mark in marks.items())
    index = signal.changes(*signal.levels)
    events = []
    for i, t in zip(index.tolist(), at_us(signal, index), strict=True):
        events += [(t, f"{v[i]}{marks[name]}") for name, v in signal.levels.items() if i == 0 or v[i] != v[i - 1]]
    return write(signal, path.with_suffix(".vcd"), dump(signal, header, events), index, signal.levels, ends=True)


def dump_unknown(signal: Signal, path: Path) -> Written:
    """The line is x and z before its first value, which comes at sample 10."""
    index = signal.changes("LINE")
    index = np.append(10, index[index > 10])
    events = [(0, "x!"), (at_us(signal, np.array([5]))[0], "z!")]
    events += [(t, f"{v}!") for t, v in zip(at_us(signal, index), signal.levels["LINE"][index], strict=True)]
    return write(
        signal, path.with_suffix(".vcd"), dump(signal, "$var wire 1 ! LINE $end\n", events), index, ["LINE"], ends=True
    )


def dump_vector(signal: Signal, path: Path) -> Written:
    """All four wires in one vector; leading noughts are left out."""
    index = signal.changes(*signal.levels)
    events = [(t, f"b{word:b} %") for t, word in zip(at_us(signal, index), signal.words()[index], strict=True)]
    header = "$var wire 4 % PORT [3:0] $end\n"
    return write(signal, path.with_suffix(".vcd"), dump(signal, header, events), index, signal.levels, ends=True)


def dump_reals(signal: Signal, path: Path) -> Written:
    """The line in volts, written when it moved by more than 50 mV and held until then."""
    index, held = [0], signal.volts[0]
    for i, value in enumerate(signal.volts):
        if abs(value - held) > 0.05:
            index.append(i)
            held = value
    where = np.array(index)
    events = [(t, f"r{v:.6g} V") for t, v in zip(at_us(signal, where), signal.volts[where], strict=True)]
    done = write(
        signal, path.with_suffix(".vcd"), dump(signal, "$var real 64 V LINE $end\n", events), where, ["LINE"], ends=True
    )
    values = np.array([float(f"{v:.6g}") for v in signal.volts[where]])
    return replace(done, columns={"LINE": values})


LOGIC = (
    changes,
    changes_of_four,
    durations,
    hex_samples,
    hex_changes,
    runs,
    bits,
    letters,
    dump_scalars,
    dump_unknown,
    dump_vector,
    dump_reals,
)
