"""A caution stands before every step that can hurt; a new step without one fails here.

Every test, question and remedy of the advisor's models, every requirement of the sheets, every move of trim, every
command, every page of the bench, every how-to.
"""

import json
import re
from pathlib import Path

import click
import pytest

from cautions.hazards import lacking
from tapewright.advisor.models import load, names
from tapewright.gauges.cautions import RUNNING, SUPPLY, cautions_before
from tapewright.gauges.checking import check
from tapewright.gauges.files.on_disk import built_in_bytes
from tapewright.gauges.files.sheet_file import read_sheet
from tapewright.gauges.form import form_html
from tapewright.gauges.measure import document as sheet_json
from tapewright.gauges.trim.advice import advise
from tapewright.gauges.trim.measure import document as trim_json
from tapewright.gauges.trim.problem import Knob, Problem, Seen, Target, Trial
from tapewright.gauges.words import sheet_text, trim_text
from tapewright.terminal.run import run, tapewright

ROOT = Path(__file__).parents[2]
LOCAL = re.compile(r"[Ll]ocal\s+(electrical\s+)?codes?|licensed\s+p")
#: remedies at a program or at paper: nothing of the machine is touched
AT_THE_DESK = {
    "chadless-die", "advanced-feed-format", "bad-tape-stock", "instrument-inverted", "decoder-alphabet-or-order",
    "read-inverted", "move-threshold",
}  # fmt: skip


@pytest.mark.parametrize("name", names())
def test_every_step_of_the_advisor_has_its_cautions(name):
    model = load(name)
    steps = [(c.name, c.do, c.cautions, "none", c.depth) for c in model.causes.values()]
    steps += [(t.name, t.do, t.cautions, t.risk, t.depth) for t in model.tests.values() if not t.question]
    faults = {key: lacking(do, said, risk=risk, depth=depth) for key, do, said, risk, depth in steps}
    faults |= {key: ["any caution"] for key, _, said, *_ in steps if not said and key not in AT_THE_DESK}
    questions = [t for t in model.tests.values() if t.question]
    faults |= {t.name: lacking("", t.cautions, risk=t.risk, depth=t.depth) for t in questions}
    looks = {t.name: ["any caution"] for t in questions if model.findings[t.name].by == "eye" and not t.cautions}
    assert {key: fault for key, fault in (faults | looks).items() if fault} == {}


def test_a_step_of_your_own_without_a_caution_gets_those_that_always_go_with_it(tmp_path):
    own = tmp_path / "own.toml"
    own.write_text('title = "Own"\nextends = "tape-reader"\n'
                   '[test.run-it]\ndo = "Run it"\nminutes = 2\nrisk = "power"\n'
                   '[test.open-it]\ndo = "Open it"\nminutes = 2\nrisk = "loop"\nopens = "speed proven"\n'
                   '[finding.odd]\nsays = "Odd"\nask = "Is it odd?"\nseen = "by ear"\nby = "ear"\ntest = "run-it"\n'
                   '[cause.broken]\nstation = "motor"\nprior = "common"\nsays = "Broken"\ndo = "Mend it"\nminutes = 5\n'
                   'depth = "covers"\noften = ["odd"]\n')  # fmt: skip
    model = load(str(own))
    assert lacking("", model.tests["run-it"].cautions, risk="power") == []
    assert lacking("", model.tests["open-it"].cautions, risk="loop") == []
    assert lacking("", model.causes["broken"].cautions, depth="covers") == []


def test_the_hazards_find_what_lacks():
    assert lacking("Clean it, refit the spring", ["Plug out."], depth="covers") == [r"[Ss]olvent", "eye protection"]
    assert lacking("Look", [], risk="power") != []


@pytest.mark.parametrize("name", ["heron", "petrel", "template"])
def test_every_requirement_of_a_sheet_says_what_to_mind_first(name):
    sheet = read_sheet(f"{name}.toml", built_in_bytes(name), "")
    for r in sheet.requirements:
        assert cautions_before(r), r.id
        powered = r.powered or r.unit in ("rpm", "Bd", "ms", "V", "A")
        wanted = r"[Mm]oving parts|turns while|kills|kick|covers on" if powered else r"."
        assert re.search(wanted, cautions_before(r)[0]), r.id
    done = check(sheet)
    assert done.next is not None
    first = cautions_before(next(r for r in sheet.requirements if r.id == done.next.id))[0]
    assert sheet_json(done)["next"]["do"].startswith(first[:40])
    said = " ".join(sheet_text(done).split())
    assert said.index("Next: ") < said.index(first[:60]) < said.index("Do: ")


def test_the_printed_form_has_the_cautions_before_the_boxes():
    sheet = read_sheet("mine.toml", built_in_bytes("template"), "")
    for article in form_html(sheet).split("<article>")[1:]:
        assert article.index("class='caution'") < article.index("<table")


def trial_problem(knob_unit, reading_unit, reading="travel"):
    return Problem(
        (Knob("screw", knob_unit, 0.5),), (Target(reading, reading_unit, 1.0, 2.0, 0.1),),
        (Trial((0.0,), (Seen(3.0),)),),
    )  # fmt: skip


@pytest.mark.parametrize("knob", ["turn", "mm", "V", "A"])
@pytest.mark.parametrize("reading", ["mm", "ms", "rpm", "Bd", "g", "V"])
def test_every_move_of_trim_stands_behind_its_caution(knob, reading):
    advice = advise(trial_problem(knob, reading))
    assert advice.move
    text, document = trim_text(advice), trim_json(advice)
    flat = " ".join(text.replace("\n  ", " ").split())
    assert all(flat.index(" ".join(c.split())) < flat.index("Turn screw") for c in advice.cautions)
    assert document["cautions"] == list(advice.cautions)
    assert LOCAL.search(" ".join(advice.cautions))
    assert (SUPPLY in advice.cautions) == (knob in ("V", "A"))
    assert (RUNNING in advice.cautions) == (reading in ("ms", "rpm", "Bd", "V"))
    assert ("Springs" in " ".join(advice.cautions)) == (reading == "g")


def leaves(command, path=()):
    """Return every command that does something."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            yield from leaves(command.get_command(context, name), (*path, name))
    else:
        yield " ".join(path)


#: what can hurt, or tells somebody to do what can: how it is shown that the caution comes first
MINDED = {
    "line send", "line margin", "line watch", "line soak", "line read", "drive plan", "drive read",
    "motor speed", "motor makeshift", "motor pinion", "motor supply", "diagnose", "trim", "sheet check",
    "sheet form", "sheet enter",
    "machine plan", "machine assembly", "practice", "demo", "serve",
}  # fmt: skip
#: reads files, reckons or writes; nobody's hand goes to a machine
AT_REST = {
    "line compose", "tape read", "tape draw", "tape practice", "compare", "motor train", "sheet new",
    "machine add", "machine list", "machine show", "machine log", "machine history", "machine compare", "machine prove",
    "machine line", "book export", "book import", "book backup", "book restore", "book check", "book recompute",
    "book bench", "proof verify",
}  # fmt: skip


def test_every_command_is_known_to_hurt_or_not():
    found = set(leaves(tapewright))
    assert found - MINDED - AT_REST == set(), "say of a new command whether it can hurt, and show its caution here"
    assert (MINDED | AT_REST) - found == set()


#: command -> the first word of what it tells once the cautions are said
SAID_FIRST = {
    ("motor", "makeshift", "--belt", "30:90"): "must turn at",
    ("motor", "pinion", "--gears", "14:60", "--from-mains", "60", "--to-mains", "50"): "The pair 14:60",
    ("motor", "speed", "--gears", "7:30", "--tach", "1800"): "1800",
    ("diagnose", "--machine", "page-printer", "--yes", "motor hums but does not start"): "Turned by hand",
    ("diagnose", "--machine", "keyboard-punch"): "Or:",
    ("sheet", "check", "heron"): "Measure",
    ("practice", "--fault", "chad-jam", "--seed", "3", "--do", "advice"): "look-at-tape",
}


@pytest.mark.parametrize("words", SAID_FIRST, ids=lambda words: " ".join(words[:2]))
def test_a_command_says_its_caution_before_the_step(words, capsys):
    run(list(words))
    out = capsys.readouterr().out
    first = re.search(r"(?im)^\s*!|caution|^Before|[Pp]ull the|[Pp]lug", out)
    assert first, out
    assert SAID_FIRST[words] not in out or first.start() < out.index(SAID_FIRST[words]), out


@pytest.mark.parametrize("words", [
    ("line", "send", "RYRY", "--to", "serial:none"), ("line", "margin", "--to", "serial:none"),
    ("motor", "supply", "--to", "scpi:none", "--first-volts", "40", "--most-volts", "70",
     "--most-amps", "1", "--rpm", "1800"),
], ids=lambda words: " ".join(words[:2]))  # fmt: skip
def test_an_output_waits_until_its_cautions_are_taken_on(words, capsys):
    assert run(list(words)) == 2
    said = capsys.readouterr().err
    assert LOCAL.search(said), said
    assert "--acknowledged" in said


@pytest.mark.parametrize("words", [("watch",), ("soak", "--expect", "RY", "--state", "s.soak")], ids=lambda w: w[0])
def test_listening_to_a_real_line_says_its_caution_first(words, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert run(["line", *words, "--from", "control:/dev/none"]) == 4
    said = capsys.readouterr().err
    assert said.index("Loop supply") < said.index("serial port")


#: pages of the bench where nobody is told to touch a machine
CALM = {
    "shelf", "compare", "proof", "tape", "evidence", "pair", "job", "soon", "refusal", "base", "machine", "line",
    "practice",
}  # fmt: skip


def test_every_page_of_the_bench_has_its_caution_before_the_first_figure():
    folder = ROOT / "src" / "tapewright" / "bench" / "templates"
    for template in sorted(folder.glob("[!_]*.html")):
        text = template.read_text("utf-8")
        if template.stem not in CALM:
            assert re.search(r"class=\"caution\"|cautions\(|opening\(.*cautions\)", text), template.name
    step = (folder / "_step.html").read_text("utf-8")
    card = step[step.index("macro step_card"):]
    assert card.index("cautions(step)") < card.index("step.do")
    assert 'class="caution"' in (folder / "_evidence_parts.html").read_text("utf-8")


#: how-tos that touch no machine
PAPER = {
    "back-up-a-book", "move-a-machine-to-another-bench", "own-limits", "prove-a-machine", "recompute",
    "compose-a-test-signal", "add-a-format",
}  # fmt: skip


@pytest.mark.parametrize("page", sorted((ROOT / "docs" / "how-to").glob("*.md")), ids=lambda page: page.stem)
def test_every_how_to_has_its_caution_before_the_first_step(page):
    if page.stem in PAPER:
        return
    text = page.read_text("utf-8")
    caution = re.search(r"\*\*Caution|\*\*Before you", text)
    steps = [at for mark in ("```console", "\n1. ", "\n## ") if (at := text.find(mark)) >= 0]
    assert caution, page.name
    assert caution.start() < min(steps), page.name
    assert LOCAL.search(text[caution.start() : caution.start() + 1200]), page.name


def test_the_schema_of_trim_knows_its_cautions():
    schema = json.loads((ROOT / "docs" / "reference" / "schemas" / "trim.json").read_text("utf-8"))
    assert "cautions" in schema["properties"]


def test_the_page_of_causes_has_each_caution_before_its_remedy():
    page = (ROOT / "docs" / "reference" / "causes.md").read_text("utf-8")
    for part in page.split("\n### ")[1:]:
        assert "\n> " not in part[part.index("*Remedy*"):], part[:40]
    assert page.count("\n> ") > 100
