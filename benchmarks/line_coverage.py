"""Are the stated uncertainties of `line read` true? Many simulated machines, and how many truths lie within 2u.

python benchmarks/line_coverage.py            about 6,000 machines, some ten minutes
python benchmarks/line_coverage.py --few      about 700 machines
python benchmarks/line_coverage.py --few ripple bounce     of these families only; --seed=7 for other machines

A machine that is misread is named with what draws it again.

For each family of machines, number of characters, speed and way of sampling, and for each figure: the share of truths
within 2u, how far chance alone could move that share (two standard deviations, over machines), the ratio of the real
spread of the figure to its stated u (1 is right, below 1 is needlessly wide), and the median u.
"""

import sys
import time
from collections import defaultdict

import numpy as np

from tapewright.alphabets import ITA2
from tapewright.line.document import LineSettings
from tapewright.line.measure import measure_line
from tapewright.practice.contacts import Contact
from tapewright.practice.motor import Motor
from tapewright.practice.transmitter import Transmitter, send
from tapewright.recordings.capture import RawEdges

FAMILIES = ("perfect", "one off", "two off", "all a little off", "ripple", "bounce", "bias", "start late")
CHARACTERS = (10, 20, 30, 100)
SPEEDS = (45.45, 50.0, 75.0, 100.0)
#: sampling interval, and noise of an instant, seconds; interval 0: between the samples, as from a voltage
SAMPLINGS = {"1 us": (1e-6, 0.0), "20 us": (20e-6, 0.0), "100 us": (100e-6, 0.0), "noisy": (0.0, 20e-6)}


def draw(generator, family, baud):
    """Draw a machine; give transmitter and truths."""
    unit = 1 / baud * (1 + generator.uniform(-0.02, 0.02))
    late = np.zeros((2, 6))  # closing, opening of contacts 1 to 5 and stop
    if family == "all a little off":
        late[:] = generator.normal(size=late.shape) * generator.uniform(0.002, 0.012) * unit
    for k in generator.permutation(5)[: {"one off": 1, "two off": 2}.get(family, 0)]:
        late[0, k] = generator.choice([-1, 1]) * generator.uniform(0.3e-3, 2e-3)
        late[1, k] = generator.choice([0, 1, -1]) * late[0, k]
    late[1, 5] = generator.choice([-1, 1]) * generator.uniform(0.2e-3, 1e-3) if family == "start late" else 0.0
    bias, end = generator.uniform(-0.1, 0.1, 2) * unit * (family == "bias")
    hunt = generator.uniform(0.002, 0.012) * (family == "ripple")
    how = {"bounce_s": generator.uniform(0.5e-3, 2e-3)} if family == "bounce" else {}
    contacts = tuple(Contact(closing_late_s=late[0, k], opening_late_s=late[1, k], **how) for k in range(6))
    sender = Transmitter(
        motor=Motor(unit, hunt=hunt, hunt_hz=generator.uniform(0.3, 6.0), hunt_phase=generator.uniform(0, 6.28)),
        contacts=contacts[:5],
        stop=contacts[5],
        stop_units=generator.choice([1.0, 1.42, 1.5, 2.0]),
        # a common contact, so that no mark is split: what is asked here is timing
        own_contacts=family == "bounce",
        bias_s=bias,
        end_s=end,
        scatter_s=generator.uniform(0.02e-3, 0.3e-3),
        start_scatter_s=generator.choice([0.0, 0.1e-3]),
    )
    start = late[1, 5]
    truths = {"unit": 1e3 * unit, "bias": 100 * (bias + start) / unit, "end": 100 * (end - start) / unit}
    return sender, late, truths


def record(sent, sampling, generator):
    """Return the edges an instrument sees."""
    step, noise = SAMPLINGS[sampling]
    times, level = sent.line.times_s, sent.line.mark_after
    if not step:
        times = times + generator.normal(size=times.size) * noise
        # a stretch shorter than the noise is not seen at all; its two edges go together, so that levels alternate
        while (short := np.flatnonzero(np.diff(times) <= 0)).size:
            times, level = np.delete(times, [short[0], short[0] + 1]), np.delete(level, [short[0], short[0] + 1])
        u, keep = np.full(times.size, noise), np.ones(times.size, bool)
    else:
        places = np.ceil(times / step + generator.random())
        keep = np.concatenate([places[1:] != places[:-1], [True]])
        level, places = level[keep], places[keep]
        keep = np.concatenate([[level[0] != sent.line.starts_mark], level[1:] != level[:-1]])
        times, u = (places - 0.5) * step, np.full(places.size, step / np.sqrt(12))
    return RawEdges(
        times[keep], level[keep], u[keep], sent.line.starts_mark, sent.line.begin_s - 0.1, sent.line.end_s + 0.1
    )


def one(generator, family, characters, baud, sampling):
    """Measure one machine; give (figure, off by, u)."""
    sender, late, truths = draw(generator, family, baud)
    codes = [format(code, "05b") for code in generator.integers(0, 32, characters)]
    sent = send(codes, sender, generator)
    result = measure_line(
        record(sent, sampling, generator), LineSettings(ITA2, nominal_baud=baud, idle="high")
    )
    if result.codes != tuple(codes):
        return [("misread", 1.0, 0.1)]
    out = []
    readings = {
        "unit": result.speed.unit_ms,
        "bias": result.distortion.marking_bias_percent,
        "end": result.distortion.end_percent,
    }
    for name, reading in readings.items():
        if reading.value is not None:
            out.append((name, reading.value - truths[name], reading.u))
    stop = result.speed.stop_units
    if stop.value is not None and family != "ripple":
        out.append(("stop", stop.value - sender.stop_units, stop.u))
    scatter = result.distortion.scatter_percent
    if family != "ripple" and scatter.value is not None:
        truth = np.hypot(sender.scatter_s, sender.start_scatter_s)
        out.append(("scatter", scatter.value - 100 * truth * truths["unit"] ** -1 * 1e3, scatter.u))
    for k, contact in enumerate(result.contacts):
        for row, reading in ((0, contact.closing_late_ms), (1, contact.opening_late_ms)):
            if reading.value is not None and (row == 0 or k < 5):
                kind = "contact off" if late[row, k] and "off" in family and family[0] != "a" else "contact"
                out.append((kind, reading.value - 1e3 * late[row, k], reading.u))
    return out


def table(title, cells):
    """Print one line for each cell."""
    print(f"\n{title:<34}{'machines':>9}{'figures':>9}{'within 2u':>11}{'chance':>8}{'real/u':>8}{'median u':>11}")
    for name, machines in sorted(cells.items()):
        share = np.array([np.mean([abs(e) <= 2 * u for e, u in m]) for m in machines])
        every = np.array([pair for m in machines for pair in m])
        ratio = np.sqrt(np.mean(np.minimum(np.abs(every[:, 0] / every[:, 1]), 6.0) ** 2))
        weight = np.array([len(m) for m in machines])
        inside = float(np.average(share, weights=weight))
        chance = 2 * float(np.sqrt(np.sum((weight * (share - inside)) ** 2))) / weight.sum()
        print(
            f"{name:<34}{len(machines):>9}{len(every):>9}{100 * inside:>10.1f}%{100 * chance:>7.1f}%"
            f"{ratio:>8.2f}{np.median(every[:, 1]):>11.4f}"
        )


def main(machines_a_cell, seed=1):
    families = [name for name in FAMILIES if name in sys.argv] or FAMILIES
    by_figure, by_cell, by_family = (defaultdict(list) for _ in range(3))
    began = time.process_time()
    runs = 0
    for family in families:
        for characters in CHARACTERS:
            for baud in SPEEDS:
                for sampling in SAMPLINGS:
                    for _ in range(machines_a_cell):
                        found = defaultdict(list)
                        # a seed of its own, so that any machine can be drawn again alone
                        generator = np.random.default_rng([seed, runs])
                        for name, error, u in one(generator, family, characters, baud, sampling):
                            found[name].append((error, u))
                        if "misread" in found:
                            print(f"misread: {family!r}, {characters}, {baud}, {sampling!r}, seed [{seed}, {runs}]")
                        runs += 1
                        for name, pairs in found.items():
                            by_figure[name].append(pairs)
                            by_family[f"{family}: {name}"].append(pairs)
                            by_cell[f"{name}, {characters:>3} characters"].append(pairs)
                            by_cell[f"{name}, {baud:g} Bd"].append(pairs)
                            by_cell[f"{name}, sampled {sampling}"].append(pairs)
                            if name == "contact":
                                by_family[f"{family}: {name}, {characters:>3} char."].append(pairs)
    table("figure", by_figure)
    table("family", by_family)
    table("condition", by_cell)
    print(f"\n{runs} machines, {1e3 * (time.process_time() - began) / runs:.0f} ms of processor time each")
    return 0


if __name__ == "__main__":
    seeds = [int(word.removeprefix("--seed=")) for word in sys.argv if word.startswith("--seed=")]
    sys.exit(main(1 if "--few" in sys.argv else 12, *seeds))
