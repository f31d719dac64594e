"""A file pasted on a machine's page goes the way of one that was dropped; a tablet is offered its camera."""

PASTE = """([name, text]) => {
  const held = new DataTransfer();
  held.items.add(new File([text], name));
  document.dispatchEvent(new ClipboardEvent("paste", { clipboardData: held, bubbles: true, cancelable: true }));
}"""


def test_a_pasted_capture_is_measured(look, petrel, capture):
    page = look(petrel, "tablet")
    page.wait_for_selector("html.scripted")
    page.evaluate(PASTE, ["pasted.csv", capture.read_text()])
    page.wait_for_url("**/line/*", timeout=30_000)
    assert "contact 3 closes" in page.inner_text("main").lower()
    assert "pasted.csv" in page.inner_text("main")


def test_text_that_is_pasted_stays_in_its_field(look, petrel):
    page = look(petrel)
    page.wait_for_selector("html.scripted")
    page.locator("#note, [name=text]").first.fill("seen: a limp spring")
    page.evaluate("document.dispatchEvent(new ClipboardEvent('paste', { clipboardData: new DataTransfer() }))")
    page.wait_for_timeout(300)
    assert page.locator("#jobs [data-job]").count() == 0


def test_a_tablet_is_offered_its_camera(look, petrel):
    page = look(petrel, "tablet")
    camera = page.locator("input[type=file][capture]")
    assert camera.count() == 1
    assert camera.get_attribute("capture") == "environment"
    assert "image/" in camera.get_attribute("accept")
