"""The demo's chapter on the magnet: Heron's punch magnet on a bench supply, and a stuck against a free armature."""

from pathlib import Path

import click

HERON = """\
# Heron's punch magnet, as measured on the bench at Skerry Point
[coil]
r_ohm = { value = 42.0, u = 0.3 }
l_h = 0.35
pull_in_a = 0.22
drop_out_a = 0.10
k_per_w = 6.0
max_c = 90

[supply]
volts = 120
limit_a = 0.6

[series]
r_ohm = 165

[suppressor]
kind = "zener"
volts = 100

[line]
unit_ms = 22

[search]
added_bias_percent = 5
contact_v = 300
"""


def chapter(folder: Path) -> None:
    """Plan Heron's drive, then read a stuck and a free armature from their currents."""
    _plan(folder)
    click.echo("")
    for name, stuck in (("free", False), ("stuck", True)):
        _read(folder, name, stuck=stuck)
    click.echo(f"The pictures are heron-drive.svg and heron-free.svg in {folder}.")


def _plan(folder: Path) -> None:
    from tapewright.coil.drive.file import drive_file, plan_drive
    from tapewright.coil.drive.plot import plan_plot
    from tapewright.coil.words import plan_text

    file = folder / "heron-magnet.toml"
    file.write_text(HERON, encoding="utf-8")
    plan, _ = plan_drive(*drive_file(file, {}, search=False))
    (folder / "heron-drive.svg").write_text(plan_plot(plan), encoding="utf-8")
    click.echo(plan_text(plan.document))


def _read(folder: Path, name: str, *, stuck: bool) -> None:
    import numpy as np

    from tapewright.coil.from_settings import measure
    from tapewright.coil.plot import coil_plot
    from tapewright.coil.words import coil_text
    from tapewright.practice.coil import CurrentProbe, Feed, MagnetCoil, Pulse, record, run_coil

    coil = MagnetCoil(42.0, 0.35, 0.5, pull_in_a=0.22, mass_kg=0.03, gap_m=0.6e-3, restitution=0.2, stuck=stuck)
    pulses = tuple(Pulse(0.02 + 0.12 * n, 0.09 + 0.12 * n) for n in range(3))
    truth = run_coil(coil, Feed(48.0, 38.0, 0.7, 100.0), pulses, 0.38)
    probe = CurrentProbe(noise_a=0.005, volts_per_a=1.0)
    volts = record(truth, probe, np.random.default_rng(3))
    file = folder / f"heron-{name}.csv"
    table = np.column_stack([np.arange(volts.size) / probe.rate_hz, volts])
    np.savetxt(file, table, delimiter=",", header="time (s),shunt (V)", comments="", fmt="%.6g")
    reading = measure({"current": file}, {"supply": 48.0, "shunt": 1.0, "series_ohm": 37.0}).read
    (folder / f"heron-{name}.svg").write_text(coil_plot(reading), encoding="utf-8")
    click.echo(coil_text(reading.coil))
    pairs = zip(truth.first_landings_s, pulses, strict=True)
    landings = [land - pulse.on_s for land, pulse in pairs if land is not None]
    told = f"it landed after {np.mean(landings) * 1e3:.2f} ms" if landings else "it was stuck"
    click.echo(f"  (The practice machine knows: {told}.)\n")
