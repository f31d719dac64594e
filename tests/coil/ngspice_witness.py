"""Draw a circuit from a seed, and let ngspice (Debian package, a general circuit simulator) solve it.

Nothing here uses the code under test but its data classes: the netlist is written from the drawing in drive.py.
"""

import subprocess
from dataclasses import dataclass

import numpy as np

from tapewright.coil.drive.drive import Coil, Drive, Kind, Supply, Suppressor

#: an almost ideal diode (a sharper one does not converge); its own few millivolts are taken off the source beside it
SATURATION_A, EMISSION, THERMAL_V = 1e-7, 0.03, 0.02585
IDEAL = f".model ideal D(IS={SATURATION_A} N={EMISSION} RS=1e-4)"
#: the same for the supply's ends, softer because a sharp one chatters there
SOFT = ".model soft D(IS=1e-6 N=0.1 RS=1e-3)"
REAL = ".model real D(IS=1e-9 N=1.7 RS=0.05)"
CASES = (
    ("none", False), ("diode", False), ("diode+r", False), ("zener", False), ("zener", True),
    ("rc", False), ("rc", True),
)  # fmt: skip


@dataclass(frozen=True)
class Case:
    drive: Drive
    switchings: tuple[tuple[float, bool], ...]
    end_s: float


def draw(seed: int, *, limited: bool = False) -> Case:
    """Draw a drive and a few elements to send through it."""
    rng = np.random.default_rng(seed)
    kind, contact = CASES[seed % len(CASES)]
    r, inductance = rng.uniform(20, 300), 10 ** rng.uniform(-1, 0.7)
    volts, steady = rng.uniform(24, 170), rng.uniform(0.02, 0.08)
    series = max(10.0, volts / steady - r)
    steady = volts / (series + r)
    pull = rng.uniform(0.3, 0.8) * steady
    coil = Coil(r, inductance, pull, pull * rng.uniform(0.3, 0.8))
    ohms = {"diode+r": rng.uniform(50, 2000), "rc": rng.uniform(50, 1000), "zener": rng.uniform(0, 20)}
    part = Suppressor(
        Kind(kind),
        r_ohm=ohms.get(kind, 0.0),
        volts=volts * rng.uniform(1.2, 2.5) if contact else rng.uniform(20, 200),
        c_f=10 ** rng.uniform(-7, -5.5),
        drop_v=rng.uniform(0.5, 1.0),
        across_contact=contact,
    )
    supply = Supply(volts)
    if limited:
        supply = Supply(volts, limit_a=steady * rng.uniform(0.4, 0.9), c_out_f=10 ** rng.uniform(-5, -3.7))
        coil = Coil(r, inductance, supply.limit_a * 0.7, supply.limit_a * 0.4)
    unit = rng.choice([13.333e-3, 20e-3, 22e-3])
    at, switchings, closed = 0.0, [], True
    for _ in range(6):
        switchings.append((at, closed))
        at += unit * rng.integers(1, 4)
        closed = not closed
    return Case(Drive(coil, supply, series, part, 327.0), tuple(switchings), at)


def netlist(case: Case, out: str, diode: str = "ideal") -> str:
    """Write the circuit: supply, Rs, coil between a and b, switch from b to ground."""
    d, part = case.drive, case.drive.suppressor
    lines = ["* coil drive", IDEAL, SOFT, REAL, ".model sw SW(VT=0.5 VH=0 RON=1e-3 ROFF=1e8)"]
    if np.isinf(d.supply.limit_a):
        lines.append(f"Vs s 0 {d.supply.volts}")
    else:
        lines += [
            f"Is 0 s {d.supply.limit_a}", f"Co s 0 {d.supply.c_out_f} IC={d.supply.volts}",
            "Dtop s t soft", f"Vt t 0 {d.supply.volts}", "Dlow 0 s soft",
        ]  # fmt: skip
    lines += [f"Rs s a {d.series_ohm}", f"Rl a m {d.coil.r_ohm}", f"Ll m b {d.coil.l_h} IC=0", "S1 b 0 c 0 sw"]
    top, foot = ("b", "0") if part.on_contact else ("b", "a")
    clamp = part.clamp_v(d.breakdown_v)
    if part.kind is Kind.RC:
        first = d.supply.volts if part.across_contact else 0.0
        plus, minus = ("b", "0") if part.across_contact else ("a", "b")
        lines += [f"Rx {plus} x {part.r_ohm}", f"Cx x {minus} {part.c_f} IC={first}"]
    else:
        slope = part.r_ohm if part.kind in (Kind.DIODE_R, Kind.ZENER) else 0.0
        own = EMISSION * THERMAL_V * np.log(d.coil.drop_out_a / SATURATION_A)
        drop = 0.0 if diode == "real" else clamp - own
        lines += [f"Dx {top} x {diode}", f"Rx x y {max(slope, 1e-4)}", f"Vx y {foot} {drop}"]
    points = [(0.0, float(case.switchings[0][1]))]
    for time, closed in case.switchings[1:]:
        points += [(time, points[-1][1]), (time + 1e-7, float(closed))]
    lines.append("Vc c 0 PWL(" + " ".join(f"{t:.9e} {v}" for t, v in points) + ")")
    # fine enough for the quickest decay, L I / V of the clamp, within a sensible number of steps
    decay = d.coil.l_h * d.steady_a / max(clamp, d.supply.volts)
    step = max(min(case.end_s / 40_000, decay / 20), case.end_s / 120_000)
    lines += [
        ".options reltol=1e-5 abstol=1e-8 vntol=1e-5 method=gear",
        f".tran {step} {case.end_s} 0 {step} uic",
        ".control", "set filetype=ascii", "run", f"wrdata {out} i(Ll) v(b)", "quit", ".endc", ".end",
    ]  # fmt: skip
    return "\n".join(lines) + "\n"


def solve(case: Case, folder, diode: str = "ideal") -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return time, coil current and switch voltage by ngspice."""
    (folder / "circuit.cir").write_text(netlist(case, "out.txt", diode))
    done = subprocess.run(["ngspice", "-b", "circuit.cir"], cwd=folder, capture_output=True, text=True, timeout=60)
    assert (folder / "out.txt").exists(), done.stdout[-2000:] + done.stderr[-2000:]
    table = np.loadtxt(folder / "out.txt")
    (folder / "out.txt").unlink()
    assert table[-1, 0] > 0.999 * case.end_s, done.stdout[-2000:] + done.stderr[-2000:]
    return table[:, 0], table[:, 1], table[:, 3]


def arrivals(time, current, pull_in, drop_out):
    """Walk along a sampled current with hysteresis; give (time, attracted), linear between samples."""
    found, inside, size = [], False, np.abs(current)
    for k in range(1, time.size):
        level = drop_out if inside else pull_in
        if (size[k] < level) if inside else (size[k] > level):
            share = (level - size[k - 1]) / (size[k] - size[k - 1])
            found.append((time[k - 1] + share * (time[k] - time[k - 1]), not inside))
            inside = not inside
    return found
