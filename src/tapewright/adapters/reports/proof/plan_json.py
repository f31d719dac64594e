"""The test plan as the document "tapewright/plan/1"."""

from typing import Any

from tapewright.core.proof.plan import PlannedTest, PlanOfTests
from tapewright.core.proof.planned_tests import PRACTICE

FORMAT = "tapewright/plan/1"


def plan_document(plan: PlanOfTests) -> dict[str, Any]:
    """Give the whole document."""
    pace = plan.pace
    return {
        "format": FORMAT,
        "machine": pace.name,
        "alphabet": pace.alphabet_key,
        "baud": pace.baud,
        "character_ms": 1e3 * pace.character_s,
        "character_from": pace.speed_from,
        "pitch_mm": pace.pitch_mm,
        "pitch_from": pace.pitch_from,
        "source": str(PRACTICE),
        "standing": PRACTICE.standing.value,
        "seconds": plan.seconds,
        "tape_m": plan.tape_m,
        "wanted_one_in": plan.wanted.one_in,
        "tests": [_test(test) for test in plan.tests],
        "claims": [
            {
                "one_in": c.one_in, "clean_characters": c.clean_characters, "rule_of_three": c.rule_of_three,
                "seconds": c.seconds, "tape_m": c.tape_m,
            }
            for c in plan.claims
        ],
    }  # fmt: skip


def _test(test: PlannedTest) -> dict[str, Any]:
    return {
        "test": test.row.key, "what": test.row.what, "shows": test.row.shows, "setting": test.row.setting,
        "cautions": list(test.row.cautions), "pattern": test.row.pattern, "characters": test.characters,
        "seconds": test.seconds, "minutes_more": test.minutes_more, "tape_m": test.tape_m,
        "command": test.command or None, "check": test.check,
        "done": test.done, "have": test.have, "want": test.want, "unit": test.unit,
        "lines": list(test.lines),
    }  # fmt: skip
