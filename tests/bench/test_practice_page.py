"""Practice on the page: a test costs minutes, the right remedy mends, the record survives a restart."""

import json

import pytest

from tapewright.bench.rounds import MOST_ROUNDS, Did, Rounds


def act(caller, action, **fields):
    return caller.post(f"/practice/{action}.json", data=fields, headers={"x-bench-key": caller.key})


def test_a_round_from_the_deal_to_the_score(caller, bench):
    see = act(caller, "deal", advisor="keyboard-punch").json()["see"]
    id_ = see.split("=")[1]
    first = caller.get("/practice.json", params={"round": id_}).json()["round"]
    assert first["known"], "it comes with a complaint"
    assert not {"fault", "faults", "cause"} & set(first), "nobody tells the fault"
    assert first["was"] is None
    test = first["tests"][0]
    act(caller, "step", round=id_, test=test["name"])
    after = caller.get("/practice.json", params={"round": id_}).json()["round"]
    assert after["minutes"] == test["minutes"]
    kept, play = bench.rounds.get(id_)
    wrong = next(name for name in play.model.causes if name not in kept.machine.faults)
    true = kept.machine.faults[0]
    assert act(caller, "step", round=id_, remedy=wrong).json()["says"] == "It did not help."
    line = caller.get("/practice.json").json()["rounds"][0]
    assert line["true"] is None, "what was true is not told before it is mended"
    assert act(caller, "step", round=id_, remedy=true).json()["says"] == "Mended."
    over = caller.get("/practice.json", params={"round": id_}).json()["round"]
    assert over["mended"]
    assert over["advisor"]["minutes"] > 0
    assert caller.get("/practice", params={"round": id_}).status_code == 200
    line = caller.get("/practice.json").json()["rounds"][0]
    assert line["guessed"] == [play.model.causes[name].says for name in (wrong, true)]
    assert line["true"] == [play.model.causes[true].says]
    assert (line["in_vain"], line["steps"]) == (1, 3)
    assert "How it went" in caller.get("/practice").text
    assert act(caller, "step", round=id_, remedy=true).status_code == 422, "what is mended stays so"


def test_what_cannot_be_done_is_refused(caller):
    assert act(caller, "deal", advisor="steam engine").status_code == 422
    assert act(caller, "step", round="none", test="x").status_code == 422
    assert caller.get("/practice.json", params={"round": "none"}).status_code == 404


def test_rounds_are_there_after_a_restart(tmp_path):
    file = tmp_path / "workshop.book.practice.json"
    before = Rounds(file)
    kept = before.begin("keyboard-punch", "2026-11-25T10:00:00+00:00", number=7)
    for _ in range(2):
        assert before.do(kept.id, Did("test", before.get(kept.id)[1].open_tests()[0].name))
    assert before.do(kept.id, Did("remedy", next(iter(kept.play.model.causes))))
    again, play = Rounds(file).get(kept.id)
    assert (play.steps, play.answers, play.mended) == (kept.play.steps, kept.play.answers, kept.play.mended)
    assert again.machine.faults == kept.machine.faults
    assert kept.machine.faults[0] not in {did["name"] for did in json.loads(file.read_text())["rounds"][0]["did"]}


@pytest.mark.parametrize("content", [b"", b"{", b"[]", b'{"rounds": [1]}', b'{"rounds": [{"id": "a"}]}', b"\xff\x00"])
def test_a_file_that_is_none_does_not_stop_the_bench(tmp_path, content):
    (file := tmp_path / "practice.json").write_bytes(content)
    assert Rounds(file).all() == []


def test_the_oldest_make_room(monkeypatch):
    monkeypatch.setattr("tapewright.bench.rounds._dealt", lambda kind, number: (1, None, None))
    rounds = Rounds(None)
    ids = [rounds.begin("whole", "2026-11-25").id for _ in range(MOST_ROUNDS + 3)]
    assert list(rounds._rounds) == ids[3:]
