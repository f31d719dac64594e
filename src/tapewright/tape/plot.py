"""A drawn tape as SVG or PDF, 1:1, to lay beside a real one."""

from pathlib import Path

from tapewright.errors import WrongUseError
from tapewright.furniture.plot import CARD, INK, QUIET, Drawing
from tapewright.furniture.whole_file import write_whole
from tapewright.tape.drawing import DrawnTape

#: Room above the tape for the words, and below for the ruler, mm.
ABOVE, BELOW, BESIDE = 8.0, 10.0, 5.0
#: Rulers carry a number every so many rows: ten rows are 25.4 mm.
ROWS_A_NUMBER = 10


def tape_svg(drawn: DrawnTape, title: str) -> str:
    """Return the SVG; one unit is one millimetre."""
    drawing = Drawing(drawn.length_mm + 2 * BESIDE, drawn.width_mm + ABOVE + BELOW, title)
    drawing.text(BESIDE, 4.5, f"{title}   1:1, print without fitting to the page", size_mm=2.8, fill=QUIET)
    drawing.rect(BESIDE, ABOVE, drawn.length_mm, drawn.width_mm, fill=CARD, stroke=INK, stroke_width=0.1)
    for hole in drawn.holes:
        drawing.circle(BESIDE + hole.x_mm, ABOVE + hole.y_mm, hole.diameter_mm / 2, fill=INK)
    _ruler(drawing, drawn)
    return drawing.svg()


def _ruler(drawing: Drawing, drawn: DrawnTape) -> None:
    """Draw a tick for every row and a number every ten, so that the print itself can be checked with a rule."""
    foot = ABOVE + drawn.width_mm + 1.5
    for n in range(len(drawn.codes)):
        x = BESIDE + drawn.first_row_mm + n * (drawn.length_mm - 2 * drawn.first_row_mm) / (len(drawn.codes) - 1)
        tall = n % ROWS_A_NUMBER == 0
        drawing.line(x, foot, x, foot + (2.2 if tall else 1.2), stroke=QUIET, stroke_width=0.15)
        if tall:
            label = f"{n * 2.54:.1f} mm" if n else "0"
            drawing.text(x, foot + 5.2, label, size_mm=2.4, fill=QUIET, text_anchor="middle")


def write_drawing(drawn: DrawnTape, title: str, path: Path) -> None:
    """Write the file; its ending says which kind.

    Raises:
        WrongUseError: for another ending than .svg or .pdf.
    """
    svg = tape_svg(drawn, title)
    if path.suffix.lower() == ".svg":
        write_whole(path, svg)
    elif path.suffix.lower() == ".pdf":
        write_whole(path, _pdf(svg, drawn))
    else:
        raise WrongUseError(f"-o {path}: expected a name that ends in .svg or .pdf.")


def _pdf(svg: str, drawn: DrawnTape) -> bytes:
    """Put the SVG on a page of its own size; typst keeps millimetres."""
    import typst

    width, height = drawn.length_mm + 2 * BESIDE, drawn.width_mm + ABOVE + BELOW
    template = (
        "#let svg = bytes(sys.inputs.svg)\n"
        f"#set page(width: {width:.4f}mm, height: {height:.4f}mm, margin: 0mm)\n"
        f"#image(svg, format: \"svg\", width: {width:.4f}mm, height: {height:.4f}mm)\n"
    )
    made: bytes = typst.compile(template.encode(), format="pdf", sys_inputs={"svg": svg}, timestamp=0)
    return made
