"""`tapewright tape practice`: a picture of tape whose faults are known."""

from pathlib import Path

import click

from tapewright.alphabets import ALPHABETS, encode
from tapewright.errors import WrongUseError
from tapewright.furniture.options import Number, text_argument


@click.command()
@click.argument("text")
@click.option("-o", "--out", required=True, type=click.Path(path_type=Path), help="FILE.png to write.")
@click.option("--machine", type=click.Choice(["heron", "petrel"]), default="heron", show_default=True,
              help="Whose punch: Heron cuts clean, Petrel has a weak pin and a bad tooth.")  # fmt: skip
@click.option("--alphabet", type=click.Choice(list(ALPHABETS)), default="ita2", show_default=True,
              help="Code table: ita2, or us for the US commercial figures.")
@click.option("--repeat", type=click.IntRange(1, 1000), default=1, help="Punch the text so many times.")
@click.option("--leader", type=click.IntRange(0, 1000), default=6, show_default=True, help="Blank rows at both ends.")
@click.option("--dpi", type=Number(75, 2400), default=300.0, show_default=True, help="Resolution of the scan.")
@click.option("--angle", type=Number(-180, 180), default=1.5, show_default=True, help="Turn of the tape, degrees.")
@click.option("--face-down", is_flag=True, help="The tape lies face down.")
@click.option("--bend", type=Number(-30, 30), default=0.0, help="How far the middle bends off the straight, mm.")
@click.option("--slant", type=Number(-0.3, 0.3), default=0.0, help="How much smaller one end looks: 0.1 is a tenth.")
@click.option("--back-lit", is_flag=True, help="Against the light: holes lighter than the paper.")
@click.option("--specks", type=Number(0, 50), default=0.0, help="Specks of dirt for a square centimetre.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="The same seed, the same picture.")
def practice(
    text: str, out: Path, machine: str, alphabet: str, repeat: int, leader: int, dpi: float, angle: float,
    face_down: bool, bend: float, slant: float, back_lit: bool, specks: float, seed: int,
) -> None:  # fmt: skip
    """Punch TEXT (or @FILE) on the practice machine and take a picture of it.

    Example: tapewright tape practice "RYRYRY" --machine petrel -o petrel.png
    """
    import numpy as np

    from tapewright.pictures.write import write_scan
    from tapewright.practice.punch import punch_tape
    from tapewright.practice.punches import PUNCHES
    from tapewright.practice.scanner import Scanner, scan_tape

    try:
        codes = encode(text_argument(text) * repeat, ALPHABETS[alphabet])
    except ValueError as reason:
        raise WrongUseError(f"{reason}.") from reason
    rng = np.random.default_rng(seed)
    punched = punch_tape(codes, PUNCHES[machine], rng, leader=leader)
    light = {"paper": 120.0, "behind": 244.0, "ground": 244.0} if back_lit else {}
    scanner = Scanner(dpi=dpi, angle_deg=angle, mirrored=face_down, bend_mm=bend, slant=slant, specks=specks, **light)
    scan = scan_tape(punched, scanner, rng)
    write_scan(scan.pixels, scan.dpi, out)
    height, width = scan.pixels.shape
    click.echo(f"Wrote {out}: {len(codes)} codes from {machine.capitalize()}'s punch, {width} by {height} px.")
