"""Practice on the page: a machine is dealt, a test costs minutes, the right remedy mends, the advisor plays too."""


def act(caller, action, **fields):
    return caller.post(f"/practice/{action}.json", data=fields, headers={"x-bench-key": caller.key})


def test_a_round_from_the_deal_to_the_score(caller):
    from tapewright.web.pages.practice import ROUNDS

    see = act(caller, "deal", advisor="keyboard-punch").json()["see"]
    id_ = see.split("=")[1]
    first = caller.get("/practice.json", params={"round": id_}).json()["round"]
    assert first["known"], "it comes with a complaint"
    assert not {"fault", "faults", "cause"} & set(first), "nobody tells the fault"
    test = first["tests"][0]
    act(caller, "step", round=id_, test=test["name"])
    after = caller.get("/practice.json", params={"round": id_}).json()["round"]
    assert after["minutes"] == test["minutes"]
    _, _, machine = ROUNDS.get(id_)
    assert act(caller, "step", round=id_, remedy=machine.faults[0]).json()["says"] == "Mended."
    over = caller.get("/practice.json", params={"round": id_}).json()["round"]
    assert over["mended"]
    assert over["advisor"]["minutes"] > 0
    assert caller.get("/practice", params={"round": id_}).status_code == 200


def test_what_cannot_be_done_is_refused(caller):
    assert act(caller, "deal", advisor="steam engine").status_code == 422
    assert act(caller, "step", round="none", test="x").status_code == 422
    assert caller.get("/practice.json", params={"round": "none"}).status_code == 404
