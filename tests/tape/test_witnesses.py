"""Outside witnesses: region measurements of a general image library, a tape rendered by a general drawing engine."""

import io
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import typst
from PIL import Image
from skimage.filters import threshold_otsu
from skimage.measure import label, regionprops

from tape_pictures.drawn_tape import Look, draw
from tapewright.alphabets import ITA2, encode
from tapewright.pictures.picture import Picture
from tapewright.tape.drawing import banner_codes, draw_tape
from tapewright.tape.measure import read_tape
from tapewright.tape.plot import tape_svg, write_drawing
from tapewright.tape.settings import TapeSettings

TEXT = "THE QUICK BROWN FOX JUMPS OVER THE LAZY DOG"
EVERY_CODE = [format(n, "05b") for n in range(32)]


def rendered(svg, ppi=400):
    """Render an SVG by typst's own engine."""
    page = b'#set page(width: auto, height: auto, margin: 0mm)\n#image(bytes(sys.inputs.svg), format: "svg")'
    data = typst.compile(page, format="png", ppi=ppi, sys_inputs={"svg": svg})
    return np.asarray(Image.open(io.BytesIO(data)).convert("L"))


def test_centres_and_areas_agree_with_a_general_library():
    drawn = draw(encode(TEXT, ITA2), Look(dpi=600, angle=2, noise=1, blur=0.8))
    (strip,) = read_tape(Picture(drawn.image), TapeSettings(dpi=600)).strips
    regions = regionprops(label(drawn.image < threshold_otsu(drawn.image)))
    centre = np.array([region.centroid[::-1] for region in regions])
    diameter = np.array([region.equivalent_diameter_area for region in regions]) * 25.4 / 600
    holes = [hole for row in strip.rows for hole in row.holes if hole.diameter_mm is not None]
    assert len(holes) > 80
    for hole in holes:
        away = np.hypot(*(centre - [hole.x_px, hole.y_px]).T)
        nearest = int(np.argmin(away))
        assert away[nearest] < 0.15
        assert hole.diameter_mm == pytest.approx(diameter[nearest], abs=0.02)


@pytest.mark.parametrize("advanced", [False, True])
def test_a_drawn_tape_reads_back_with_its_nominal_sizes(advanced):
    codes = encode(TEXT, ITA2) + EVERY_CODE
    picture = rendered(tape_svg(draw_tape(codes, advanced=advanced), "gauge"))
    (strip,) = read_tape(Picture(picture), TapeSettings(dpi=400, feed_line="advanced" if advanced else "auto")).strips
    assert list(strip.codes)[4:-4] == codes
    assert strip.feed.pitch_mm.value == pytest.approx(2.54, rel=5e-4)
    assert strip.feed.diameter_mm.value == pytest.approx(1.17, abs=0.02)
    assert strip.feed.advanced_mm.value == pytest.approx(0.33 if advanced else 0.0, abs=0.01)
    for track in strip.tracks:
        assert track.diameter_mm.value == pytest.approx(1.83, abs=0.02)


def test_the_svg_holds_the_published_dimensions():
    """reference notes, section 6: 2.54 mm grid, 1.83 and 1.17 mm, 17.46 mm wide, ten rows to 25.4 mm."""
    root = ET.fromstring(tape_svg(draw_tape(["11111"] * 11), "all holes"))
    name = "{http://www.w3.org/2000/svg}"
    circles = [{k: float(c.get(k)) for k in ("cx", "cy", "r")} for c in root.iter(f"{name}circle")]
    assert {2 * c["r"] for c in circles} == {1.83, 1.17}
    code = [c for c in circles if c["r"] == 0.915]
    feed = sorted(c["cx"] for c in circles if c["r"] == 0.585)
    rows = sorted({c["cx"] for c in code})
    assert rows[10] - rows[0] == pytest.approx(25.4, abs=1e-3)
    assert np.diff(feed) == pytest.approx(2.54, abs=1e-3)
    across = sorted({c["cy"] for c in code})
    assert np.diff(across) == pytest.approx([2.54, 5.08, 2.54, 2.54], abs=1e-3)
    paper = next(r for r in root.iter(f"{name}rect"))
    assert float(paper.get("height")) == 17.46
    assert root.get("width").endswith("mm")


def test_a_pdf_is_written_at_its_size(tmp_path):
    drawn = draw_tape(encode("RYRYRY", ITA2), banner="SKERRY POINT")
    write_drawing(drawn, "RY", tmp_path / "a.pdf")
    data = (tmp_path / "a.pdf").read_bytes()
    assert data.startswith(b"%PDF")
    width_pt = (drawn.length_mm + 10) * 72 / 25.4
    assert f"{width_pt:.2f}"[:5].encode() in data


def test_blank_and_all_holes_rows_read(tmp_path):
    codes = ["00000"] * 8 + encode("SKERRY POINT HARBOUR MUSEUM", ITA2) + ["11111"] * 8
    (strip,) = read_tape(Picture(draw(codes, Look(dpi=200)).image)).strips
    assert list(strip.codes) == codes


def test_banner_letters_are_five_high_and_named_when_missing():
    assert banner_codes("I") == ["10001", "11111", "10001"]
    with pytest.raises(ValueError, match="'%'"):
        banner_codes("50%")
