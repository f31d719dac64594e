"""What is folded on the screen is open on paper: nobody can press it there."""

import pypdfium2


def test_folded_parts_are_printed(look, petrel, tmp_path):
    page = look(f"{petrel}/gauges")
    folded = page.locator("main details:not([open]) li").all_text_contents()
    words = ["".join(text.split()) for text in folded if text.strip()]
    assert words, "nothing is folded here"
    page.pdf(path=str(tmp_path / "gauges.pdf"), format="A4")
    with pypdfium2.PdfDocument(str(tmp_path / "gauges.pdf")) as paper:
        printed = "".join("".join(sheet.get_textpage().get_text_range().split()) for sheet in paper)
    assert [word for word in words if word not in printed] == []
