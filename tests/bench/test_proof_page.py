"""The proof's page says what to press, and gives a test's signal that reads back as what was planned."""

import io
import wave

from tapewright.bench.pages.proof import MOST_CHARACTERS, with_ways
from tapewright.terminal.run import run


def test_no_option_of_a_command_is_named_to_a_person_at_the_page(caller, petrel):
    page = caller.get(f"/machines/{petrel}/proof.json").json()
    assert any("tapewright " in (gap["do"] or "") for gap in page["not_tested"]), "the proof itself does"
    for gap in page["not_tested"]:
        if any(word in (gap["do"] or "") for word in ("tapewright ", "--")):
            assert gap["way"], gap
            assert "--" not in gap["way"]["words"]
        if (way := gap["way"]) and way["see"]:
            see = way["see"].partition("#")[0]
            assert caller.get(f"/machines/{petrel}/{see}").status_code == 200, see


def test_the_signal_of_a_test_reads_back(caller, petrel, tmp_path, capsys):
    answer = caller.get(f"/machines/{petrel}/proof/signal.wav", params={"test": "r-y"})
    assert answer.headers["content-type"] == "audio/wav"
    with wave.open(io.BytesIO(answer.content)) as sound:
        assert sound.getnframes() / sound.getframerate() > 200 * 7.4 * 0.022
    (tmp_path / "r-y.wav").write_bytes(answer.content)
    capsys.readouterr()
    run(["line", "read", str(tmp_path / "r-y.wav"), "--nominal", "45.45", "--json"])
    assert '"RYRYRYRYRY' in capsys.readouterr().out.replace(" ", "")
    for unknown in ("", "margin", "hand-keyed", "../x"):
        assert caller.get(f"/machines/{petrel}/proof/signal.wav", params={"test": unknown}).status_code in (404, 422)


def test_what_no_page_can_do_keeps_its_command():
    test = {"test": "long", "command": "tapewright line compose --count 9", "characters": MOST_CHARACTERS + 1}
    gaps = with_ways([{"do": test["command"]}, {"do": "tapewright line margin --to sound"}, {"do": ""}], [test])
    assert [gap["way"] and gap["way"]["command"] for gap in gaps] == [
        "tapewright line compose --count 9", "tapewright line margin --to sound", None]  # fmt: skip
