"""Who may speak to the bench: foreign names, foreign pages, foreign machines, writes without keys, pairing.

Outside check: the attacks are those of the public descriptions of cross-site request forgery and DNS rebinding, in the
words of RFC 9110 7.2 (Host) and RFC 6454 7 (Origin); clause numbers from memory.
"""

import re

import pytest
from starlette.testclient import TestClient

from tapewright.bench.application import application
from tapewright.bench.trust.sharing import WAIT_S, Sharing

HERE = "http://127.0.0.1:8720"


@pytest.mark.parametrize("name", [
    "evil.example:8720", "127.0.0.1.evil.example:8720", "localhost.evil.example:8720", "127.0.0.1:80", "127.0.0.1",
    "127.0.0.1@evil.example:8720", "127.0.0.1:8720@evil.example", "192.168.1.5:8720", "", "127.0.0.1:8720/x", "[::1",
])  # fmt: skip
def test_a_foreign_name_is_refused_even_for_reading(caller, name):
    assert caller.get("/", headers={"host": name}).status_code == 403


@pytest.mark.parametrize("name", ["localhost:8720", "127.0.0.1:8720", "[::1]:8720", "LOCALHOST:8720"])
def test_its_own_names_are_let_in(caller, name):
    assert caller.get("/", headers={"host": name}).status_code == 200


FOREIGN = ["http://evil.example", "null", "https://127.0.0.1:8720", "http://127.0.0.1:9999", "http://localhost:8720"]


@pytest.mark.parametrize("origin", FOREIGN)
def test_a_foreign_page_can_neither_write_nor_read(caller, bench, origin):
    said = {"name": "Heron", "bench-key": caller.key}
    assert caller.post("/machines", data=said, headers={"origin": origin}).status_code == 403
    assert caller.get("/shelf.json", headers={"origin": origin}).status_code == 403
    assert bench.book.machines() == ()


def test_what_a_browser_says_about_the_site_counts(caller):
    inside = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors", "sec-fetch-dest": "image"}
    link = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate", "sec-fetch-dest": "document"}
    frame = link | {"sec-fetch-dest": "iframe"}
    assert caller.get("/", headers=inside).status_code == 403
    assert caller.get("/", headers=frame).status_code == 403
    assert caller.get("/", headers=link).status_code == 200
    assert caller.post("/machines", data={"name": "x", "bench-key": caller.key}, headers=link).status_code == 403


def test_a_write_needs_both_keys(caller, bench):
    said = {"name": "Heron"}
    assert caller.post("/machines", data=said).status_code == 403
    assert caller.post("/machines", data=said | {"bench-key": "x" * 43}).status_code == 403
    stranger = TestClient(caller.app, base_url=HERE, client=("127.0.0.1", 1), follow_redirects=False)
    assert stranger.post("/machines", data=said | {"bench-key": caller.key}).status_code == 403
    assert bench.book.machines() == ()
    assert caller.post("/machines", data=said | {"bench-key": caller.key}).status_code == 303
    assert [m.name for m in bench.book.machines()] == ["Heron"]


def test_the_cookie_is_for_this_site_only_and_not_for_scripts(bench):
    client = TestClient(application(bench), base_url=HERE, client=("127.0.0.1", 1))
    cookie = client.get("/").headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie


@pytest.mark.parametrize("path", ["/", "/shelf.json", "/assets/bench.css", "/nothing-here", "/openapi.json"])
def test_every_answer_forbids_what_no_page_needs(caller, path):
    headers = caller.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == "same-origin"


def test_another_machine_is_refused_when_the_bench_is_not_shared(bench):
    other = TestClient(application(bench), base_url="http://192.168.7.2:8720", client=("192.168.7.9", 1))
    assert other.get("/").status_code == 403


def test_another_machine_is_let_in_by_the_code_only(bench):
    clock = [0.0]
    sharing = Sharing(lambda: clock[0])
    other = TestClient(application(bench, sharing=sharing), base_url="http://192.168.7.2:8720",
                       client=("192.168.7.9", 1), follow_redirects=False)  # fmt: skip
    assert other.get("/").status_code == 401
    assert other.get("/shelf.json").status_code == 401
    wrong = "0" * 8 if sharing.code != "0" * 8 else "1" * 8
    for _ in range(5):
        assert other.post("/pair", data={"code": wrong}).status_code == 401
    assert other.post("/pair", data={"code": sharing.code}).status_code == 401, "five wrong ones shut it for a minute"
    clock[0] += WAIT_S
    assert other.post("/pair", data={"code": f" {sharing.code[:4]} {sharing.code[4:]}"}).status_code == 303
    assert other.get("/").status_code == 200
    assert other.get("/", headers={"host": "bench.example:8720"}).status_code == 403, "by address only: no rebinding"


def test_a_name_and_a_note_are_shown_as_text(caller):
    name = '<script>alert(1)</script>"onmouseover="x'
    caller.post("/machines", data={"name": name, "model": "<img src=x onerror=alert(2)>", "bench-key": caller.key})
    page = caller.get("/").text
    assert "<script>alert" not in page
    assert "<img" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    inside = re.search(r'href="(/machines/\w+)"', page)[1]
    assert "<script>alert" not in caller.get(inside).text


@pytest.mark.parametrize("back", ["//evil.example/", "http://evil.example/", "/\\evil.example", "javascript:alert(1)"])
def test_the_way_back_stays_on_the_bench(caller, back):
    assert caller.post("/units", data={"units": "inch", "back": back}).headers["location"] == "/"


@pytest.mark.parametrize("path", ["/assets/../serve.py", "/assets/%2e%2e/serve.py", "/assets//etc/passwd"])
def test_assets_stay_in_their_folder(caller, path):
    assert caller.get(path).status_code in (403, 404)
