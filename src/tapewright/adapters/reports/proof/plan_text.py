"""The test plan for the terminal: cautions first, then a line a test, then the claims."""

from textwrap import fill

from tapewright.adapters.reports.proof.plan_pages import metres_words, minutes_words, time_words
from tapewright.core.proof.plan import PlannedTest, PlanOfTests

#: Letters in a line of the terminal.
LINE = 100


def plan_text(plan: PlanOfTests) -> str:
    """Give the plan as text."""
    pace = plan.pace
    cautions = list(dict.fromkeys(c for test in plan.tests for c in test.row.cautions))
    out = [
        f"Test plan of {pace.name}",
        f"  a character takes {1e3 * pace.character_s:.1f} ms ({pace.speed_from})",
        f"  the feed pitch is {pace.pitch_mm:.3f} mm ({pace.pitch_from})",
        "",
        *(fill(f"! {caution}.", LINE, subsequent_indent="  ") for caution in cautions),
        "",
    ]
    width = max(len(test.row.what) for test in plan.tests)
    for test in plan.tests:
        out += _test(test, width)
    out += ["", f"In all {minutes_words(plan.seconds)} of sending and {metres_words(plan.tape_m)} of tape.", ""]
    out.append("Without a single wrong character, at 95 % confidence:")
    out += [
        f"  fewer than 1 in {c.one_in:>6,} wrong takes {c.clean_characters:>6,} characters "
        f"(rule of three {c.rule_of_three:,}), {minutes_words(c.seconds)}, {metres_words(c.tape_m)}"
        for c in plan.claims
    ]
    return "\n".join(out)


def _test(test: PlannedTest, width: int) -> list[str]:
    so_far = f", {test.have:,} of {test.want:,} {test.unit}" if test.have else ""
    head = (f"  {test.done:<8}  {test.row.what:<{width}}  {test.characters:>5,} characters, {time_words(test)}, "
            f"{metres_words(test.tape_m)}{so_far}")  # fmt: skip
    setting = [f"            {test.row.setting}"] if test.row.setting else []
    return [head, *setting, *(f"            {command}" for command in (test.command, test.check) if command)]
