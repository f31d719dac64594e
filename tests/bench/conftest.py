"""A bench on a book in memory, and a caller that behaves as a browser on this machine does."""

import json
import os
import re
import shutil

import anyio
import pytest
from jsonschema import Draft202012Validator
from playwright.sync_api import sync_playwright
from starlette.testclient import TestClient

from tapewright.bench.application import application
from tapewright.bench.bench import Bench
from tapewright.bench.jobs import Jobs
from tapewright.bench.openapi import schemas
from tapewright.bench.pages import PAGES
from tapewright.book.record import open_book

HERE = "http://127.0.0.1:8720"
SCHEMAS = {"components": {"schemas": schemas(PAGES)}}
# Here and not in a thread of the bench: pytest rewrites this library as it is loaded, and Python before 3.11.8 cannot
# take two sources apart at the same time (its issue 106905, a SystemError once in some thousand runs).
assert anyio.open_file


def checked(page):
    """Hold every answer of a page, whoever asks for it in whatever test, against the schema of its twin."""
    validator = Draft202012Validator(SCHEMAS | {"$ref": f"#/components/schemas/{page.name}-page"})
    answer = page.answer

    def answered(asking):
        document = answer(asking)
        twin = json.loads(json.dumps({"format": page.format, **document}))
        wrong = next(validator.iter_errors(twin), None)
        assert wrong is None, f"{page.name}: {wrong.json_path}: {wrong.message[:300]}"
        return document

    return answered


@pytest.fixture(scope="session", autouse=True)
def twins_as_they_are_told():
    """The schemas in web/twins are true of all that the tests see."""
    answers = {page.name: page.answer for page in PAGES}
    for page in PAGES:
        object.__setattr__(page, "answer", checked(page))
    yield
    for page in PAGES:
        object.__setattr__(page, "answer", answers[page.name])


@pytest.fixture
def bench(tmp_path):
    arrivals = tmp_path / "arrivals"
    arrivals.mkdir()
    book = open_book(str(tmp_path / "workshop.book"))
    yield (bench := Bench(book, Jobs(), arrivals))
    bench.watches.close()
    bench.jobs.close()
    book.close()


@pytest.fixture
def caller(bench):
    """Calls from this machine; has the cookie and the key of a page it has looked at."""
    client = TestClient(application(bench), base_url=HERE, client=("127.0.0.1", 50123), follow_redirects=False)
    page = client.get("/").text
    client.key = re.search(r'name="bench-key" content="([^"]+)"', page)[1]
    return client


@pytest.fixture
def petrel(caller):
    """The key of a machine on the shelf."""
    done = caller.post("/machines.json", data={"name": "Petrel", "advisor": "keyboard-punch", "nominal": "45.45"},
                       headers={"x-bench-key": caller.key})  # fmt: skip
    assert done.status_code == 200, done.text
    return done.json()["see"].split("/")[-1]


@pytest.fixture(scope="module")
def browser():
    """Debian's Chromium; fails, never skips, where there is none.

    One a module: its library keeps a loop of its own running in this thread, and allows only one of them.
    """
    found = shutil.which("chromium")
    assert found, "no chromium on the path; `python3 dev.py test` installs it"
    as_root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=found, args=as_root)
        yield chromium
        chromium.close()
