"""The line page as a person uses it: pointing marks instants, zoom to a bounce, keys alone."""

import pytest

from .conftest import LATE_CONTACT, LATE_MS, until

DRAWN = "() => document.getElementById('trace-box').dataset.drawn > 0"


def opened(look, line, **how):
    page = look(line, **how)
    until(page, DRAWN)
    return page


def inked(page, name):
    """How many pixels of the trace have a colour of the page, within what smoothing does to it."""
    return page.evaluate(
        """(name) => {
          const canvas = document.querySelector('#trace-box canvas');
          const hex = getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim();
          const want = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
          const copy = new OffscreenCanvas(canvas.width, canvas.height).getContext('2d', { willReadFrequently: true });
          copy.drawImage(canvas, 0, 0);
          const { data } = copy.getImageData(0, 0, canvas.width, canvas.height);
          let n = 0;
          for (let i = 0; i < data.length; i += 4)
            if (data[i + 3] > 200 && want.every((value, k) => Math.abs(value - data[i + k]) < 12)) n += 1;
          return n;
        }""",
        name,
    )


def test_pointing_at_a_contact_marks_its_instants(look, line):
    page = opened(look, line)
    assert f"contact {LATE_CONTACT} closes" in page.inner_text(".finding-line")
    assert inked(page, "outside") > 20  # the flag of the late instant
    assert inked(page, "brass") == 0
    row = page.locator(f".rulers tr[data-contact='{LATE_CONTACT}'][data-closing='1']")
    assert row.locator(".cloud circle").count() > 20
    row.hover()
    assert inked(page, "brass") > 100
    page.mouse.move(5, 5)
    assert inked(page, "brass") == 0


def test_with_the_keyboard_alone(look, line):
    page = opened(look, line)
    button = page.get_by_role("button", name=f"Contact {LATE_CONTACT} closes")
    button.focus()
    assert inked(page, "brass") > 100
    assert f"contact {LATE_CONTACT} closing" in page.inner_text("#trace-says")
    page.keyboard.press("Enter")
    assert button.get_attribute("aria-pressed") == "true"
    page.locator("#trace-box").focus()
    for key in ("End", "Home", "+", "+", "ArrowRight", "-", "n", "p", "ArrowLeft"):
        page.keyboard.press(key)
        page.wait_for_timeout(60)
    until(page, "() => /Marked: [1-9]/.test(document.getElementById('trace-says').textContent)")
    page.get_by_text("The characters in view as a table").click()
    told = page.inner_text("#trace-rows")
    each = told.replace("\n", ", ").split(", ")
    late = [float(words.split("+")[1]) for words in each if f"{LATE_CONTACT} closes +" in words]
    assert late
    assert late[0] == pytest.approx(LATE_MS, abs=1.2)


def test_from_all_of_it_to_a_bounce(look, line):
    page = opened(look, line)
    page.get_by_role("button", name="All of it").click()
    until(page, "() => /and \\d+ more/.test(document.getElementById('trace-says').textContent)")
    page.get_by_role("button", name="Next late or early").click()
    for _ in range(6):
        page.get_by_role("button", name="Closer").click()
    until(page, """() => {
      const [from, to] = document.getElementById('trace-says').textContent.match(/[\\d.]+(?= s)/g).map(Number);
      return to - from < 0.01;
    }""")
    assert inked(page, "ink") > 200


@pytest.mark.parametrize("size", [(1180, 820), (820, 1180), (390, 844)])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_sticks_out_at_any_size(look, line, size, scheme):
    page = opened(look, line, viewport={"width": size[0], "height": size[1]}, color_scheme=scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    assert inked(page, "ink") > 200


def test_on_paper_the_trace_fits_in_the_dark_too(look, line):
    """What is drawn for the paper has its width and its ink, and afterwards the screen has its own again."""
    page = look(line, color_scheme="dark")
    until(page, "() => document.querySelector('#trace-box canvas')")
    wide = page.locator("#trace-box canvas").bounding_box()["width"]
    page.evaluate("""() => { window.drawn = []; window.matchMedia("print").addEventListener("change", () =>
        queueMicrotask(() => queueMicrotask(() => window.drawn.push([
            document.querySelector("#trace-box canvas").getBoundingClientRect().width,
            document.getElementById("trace-box").clientWidth,
            getComputedStyle(document.documentElement).getPropertyValue("--ink").trim()])))); }""")
    page.pdf(format="A4")
    (canvas, paper, ink), (after, screen, lamp) = page.evaluate("window.drawn")
    assert canvas == paper < 700 < wide == after == screen
    assert ink != lamp
