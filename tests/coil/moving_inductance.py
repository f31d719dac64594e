"""A coil whose inductance follows a motion laid down beforehand, solved by ngspice: none of our electromechanics.

The flux linkage is the charge of a capacitor of one farad: V = R i + d(flux)/dt, i = flux / L(t).
"""

import subprocess
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Motion:
    """A coil on a supply: closed at `on_s`, opened at `off_s`; L goes from open to closed and stops at the landing."""

    volts: float = 24.0
    ohm: float = 200.0
    open_h: float = 1.4
    closed_h: float = 2.0
    on_s: float = 0.0203
    off_s: float = 0.1
    end_s: float = 0.2
    landing_s: float = 0.0075
    travel_s: float = 0.0035
    moves: bool = True

    def inductance_h(self, t):
        """Return L at times t; 1 / L falls as the cube of the time under way, as under a growing pull."""
        if not self.moves:
            return np.full_like(t, self.open_h)
        share = np.clip((t - self.on_s - self.landing_s + self.travel_s) / self.travel_s, 0, 1) ** 3
        inverse = 1 / self.open_h + (1 / self.closed_h - 1 / self.open_h) * share
        return 1 / inverse


def solve(motion: Motion, rate_hz: float, folder) -> np.ndarray:
    """Return the current at even times, ampere."""
    begin = motion.on_s + motion.landing_s - motion.travel_s
    places = np.concatenate([[0.0], begin + motion.travel_s * np.linspace(0, 1, 200), [motion.end_s]])
    path = " ".join(f"{t:.9e} {v:.9e}" for t, v in zip(places, motion.inductance_h(places), strict=True))
    on, off, volts = motion.on_s, motion.off_s, motion.volts
    switch = f"0 0 {on} 0 {on + 1e-7} {volts} {off} {volts} {off + 1e-7} 0"
    lines = [
        "* moving inductance", f"Vc c 0 PWL({switch})", f"Vx x 0 PWL({path})", "Cf flux 0 1 IC=0",
        f"Bf 0 flux I = V(c) - {motion.ohm} * V(flux) / V(x)",
        ".options reltol=1e-6 method=gear", f".tran 2e-5 {motion.end_s} 0 2e-5 uic",
        ".control", "run", "let amps = v(flux) / v(x)", "wrdata out.txt amps", "quit", ".endc", ".end",
    ]  # fmt: skip
    (folder / "coil.cir").write_text("\n".join(lines) + "\n")
    done = subprocess.run(["ngspice", "-b", "coil.cir"], cwd=folder, capture_output=True, text=True, timeout=60)
    assert (folder / "out.txt").exists(), done.stdout[-2000:] + done.stderr[-2000:]
    table = np.loadtxt(folder / "out.txt")
    times = np.arange(int(motion.end_s * rate_hz)) / rate_hz
    return np.interp(times, table[:, 0], table[:, 1])
