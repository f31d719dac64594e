"""The OpenAPI document is true: a general fuzzer asks every page for whatever comes to its mind.

Outside checks: jsonschema on the document's own outline, schemathesis on every operation of it.
"""

import pytest
import schemathesis
from hypothesis import HealthCheck, Phase, settings
from jsonschema import Draft202012Validator

from tapewright.bench.openapi import SHARED, TWINS, openapi
from tapewright.bench.pages import PAGES

DOCUMENT = openapi(PAGES)
schema = schemathesis.openapi.from_dict(DOCUMENT)


def test_every_page_and_every_write_stands_in_it(caller):
    assert caller.get("/openapi.json").json() == DOCUMENT
    reads = [path for path, ways in DOCUMENT["paths"].items() if "get" in ways]
    writes = [path for path, ways in DOCUMENT["paths"].items() if "post" in ways]
    assert len(reads) == len(PAGES)
    assert len(writes) == sum(len(page.actions) for page in PAGES)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_a_twin_names_its_format(caller, petrel, page):
    path = page.path.replace("{machine}", petrel).replace("{entry}", "newest")
    answer = caller.get(path + ".json" if path != "/" else "/shelf.json")
    assert answer.status_code in (200, 404)
    if answer.status_code == 200:
        assert answer.json()["format"] == page.format


@schema.parametrize()
@settings(max_examples=4, phases=[Phase.generate], suppress_health_check=list(HealthCheck))
def test_a_fuzzer_finds_no_answer_that_is_not_told_of(case, caller):
    case.headers = {**(case.headers or {}), "x-bench-key": caller.key}
    path = case.formatted_path
    method = case.operation.method.upper()
    body = case.body if isinstance(case.body, dict) else None
    answer = caller.request(method, path, data=body, headers={"x-bench-key": caller.key})
    told = DOCUMENT["paths"][case.operation.path][case.operation.method.lower()]["responses"]
    assert str(answer.status_code) in told, f"{method} {path}: {answer.status_code} {answer.text[:300]}"
    if answer.status_code == 200:
        schema_of = told["200"]["content"]["application/json"]["schema"]
        Draft202012Validator(DOCUMENT | schema_of).validate(answer.json())


def test_the_schemas_are_schemas_and_no_page_lacks_one():
    written = {path.stem for path in TWINS.glob("*.json")}
    assert written == {page.name for page in PAGES} | {SHARED}
    for page in PAGES:
        Draft202012Validator.check_schema(DOCUMENT["components"]["schemas"][f"{page.name}-page"])
