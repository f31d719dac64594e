"""The whole job as a person does it: a new machine, a recording, the contact named, gauges, the step, the proof."""

import io

import pypdf
import pytest
from playwright.sync_api import expect

from .conftest import SIZES

#: from the practice machine: contact 3 was made 1.5 ms late
NAMED = "contact 3 closes 1."


def put_on_shelf(page, name):
    page.get_by_label("Name people call it by").fill(name)
    page.get_by_label("Speed it should have, baud").fill("45.45")
    page.get_by_role("button", name="Put it on the shelf").click()
    page.get_by_role("heading", name=name, level=1).wait_for()


def send(page, capture):
    """Choose the file as one does by hand; the page follows the work and goes to the result by itself."""
    page.locator("#drop-file").set_input_files(str(capture))
    page.wait_for_url("**/line/*", timeout=30000)


@pytest.mark.slow
@pytest.mark.parametrize("size", SIZES)
def test_from_a_new_machine_to_the_proof(look, capture, pictures, address, size):
    page = look("/", size=size)
    put_on_shelf(page, f"Tern on a {size}")
    page.get_by_text("What was sent, and when in the work").click()
    send(page, capture)
    assert "contact 3 closes" in page.inner_text("main").lower()
    page.screenshot(path=pictures / f"job-line-{size}.png", full_page=True)
    page.locator(".machine-menu a").first.click()
    assert NAMED in page.inner_text(".found")
    assert "outside" in page.inner_text(".state-outside")
    page.screenshot(path=pictures / f"job-machine-{size}.png", full_page=True)
    page.get_by_role("link", name="Gauges").click()
    page.get_by_label("or begin with").select_option("petrel")
    page.get_by_role("button", name="Take this sheet").click()
    page.get_by_role("button", name="Yes").click()
    expect(page.locator("#says")).to_contain_text("within")
    page.locator(".machine-menu a").first.click()
    follow_the_step(page)
    expect(page.locator("#says")).to_contain_text("Noted")
    page.get_by_role("link", name="Proof", exact=True).click()
    link = page.get_by_role("link", name="Print the proof (PDF, A4)").get_attribute("href")
    printed = page.request.get(address + link)
    text = "".join(sheet.extract_text() for sheet in pypdf.PdfReader(io.BytesIO(printed.body())).pages)
    assert "Contact 3" in text


def follow_the_step(page):
    """Answer the next step, whatever it is."""
    for box in page.locator(".next input[type=checkbox]").all():
        box.check()
    answers = page.locator(".next button[value=no]")
    if answers.count():
        answers.first.click()
        return
    page.locator(".next .row a").last.click()
    for box in page.locator("main input[type=checkbox]").all():
        box.check()
    page.locator(".question input[value=no]").first.check(force=True)
    page.get_by_role("button", name="Write it down").click()


def test_from_the_demo_to_the_part_in_three_clicks(look):
    page, clicks = look("/"), 0
    page.get_by_role("link", name="Petrel").click()
    clicks += 1
    assert NAMED in page.inner_text("main"), "the contact at fault stands on the machine's first page"
    assert "Transmitting\ncontact\noutside" in page.inner_text(".state-outside").replace(" ", "\n")
    assert clicks <= 3


def test_with_the_keyboard_alone(look, petrel):
    page = look(petrel + "/gauges")
    page.evaluate("document.activeElement.blur()")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.value") == "y":
            break
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid", "focus is seen"
    page.keyboard.press("Enter")
    expect(page.locator("#says")).to_contain_text("within")


def test_a_reload_finds_running_work_again(look, bench, petrel):
    import threading

    go = threading.Event()
    def work(tell):
        tell.progress(0.4)
        tell.found("contact 3 closes 1.50 ms late")
        go.wait(20)
        return petrel

    job = bench.jobs.start(petrel.split("/")[-1], "Reading something long", work)
    page = look(petrel)
    assert page.locator(f"[data-job='{job.id}'] progress").get_attribute("value")
    page.reload()
    assert page.locator(f"[data-job='{job.id}']").count() == 1
    assert "contact 3 closes 1.50 ms late" in page.inner_text(".job-found"), "said before it is in the book"
    go.set()
    page.get_by_role("link", name="See the result.").wait_for(timeout=10000)


@pytest.mark.slow
def test_work_of_a_bench_that_was_stopped_is_not_waited_for(browser, address, bench, petrel):
    import threading

    go = threading.Event()
    job = bench.jobs.start(petrel.split("/")[-1], "Reading something long", lambda tell: go.wait(60) and petrel)
    with browser.new_context(base_url=address) as context:  # the browser itself complains of the 404: it is meant
        page = context.new_page()
        page.goto(petrel)
        page.wait_for_selector(f"[data-job='{job.id}']")
        page.wait_for_timeout(500)
        known = bench.jobs._table.pop(job.id)  # as a new start knows nothing of it
        bench.stopping.set()  # and its streams of events end
        page.wait_for_timeout(500)
        bench.stopping.clear()
        page.wait_for_selector("text=was stopped in the middle", timeout=30_000)
        assert page.locator(f"[data-job='{job.id}']").count() == 0
    bench.jobs._table[job.id] = known
    go.set()


def test_without_script_the_form_still_works(look, petrel, capture):
    page = look(petrel, java_script_enabled=False)
    page.locator("#drop-file").set_input_files(str(capture))
    page.get_by_role("button", name="Send").click()
    for _ in range(60):
        if "/line/" in page.url:
            break
        page.wait_for_timeout(200)
        page.wait_for_load_state("networkidle")  # a page that is left while it loads counts as one that failed
        page.goto(page.url)
    page.wait_for_load_state("networkidle")
    assert "contact 3 closes" in page.inner_text("main").lower()
