"""The test plan as a sheet to tick off, A4 or Letter.

The test plan for the terminal: cautions first, then a line a test, then the claims.
"""

from datetime import UTC, datetime
from textwrap import fill

from tapewright.furniture.pages.blocks import Block, Caution, Cell, Facts, Pages, Section, Table, Text
from tapewright.proof.document import Plan, PlannedTest

#: how far a test is -> the state whose shape stands before it
STATES = {"done": "within", "in part": "suspect", "not done": "not shown"}


def minutes_words(seconds: float) -> str:
    """Write a time as a clock on the bench shows it."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = seconds / 60
    return f"{minutes:.0f} min" if minutes < 90 else f"{minutes / 60:.1f} h"


def metres_words(metres: float) -> str:
    """Write a length of tape."""
    return f"{metres * 100:.0f} cm" if metres < 1 else f"{metres:.1f} m"


def plan_table(plan: Plan) -> Table:
    """Return the tests with what of them is done."""
    return Table(
        ("test", "characters", "time", "tape", "done so far"),
        (62, 20, 18, 16, 50),
        [_row(t) for t in plan.tests],
        "The tests of the plan, with what of each is done",
    )


def _row(test: PlannedTest) -> tuple[Cell, ...]:
    so_far = f"{test.have:,} of {test.want:,} {test.unit}" if test.have else ""
    if test.lines:
        more = " …" if len(test.lines) > 8 else ""
        so_far += f", line {', '.join(map(str, test.lines[:8]))}{more}"
    return (
        Cell(test.what, quiet=test.shows),
        Cell(f"{test.characters:,}"),
        Cell(time_words(test)),
        Cell(metres_words(test.tape_m)),
        Cell(test.done, state=STATES[test.done], quiet=so_far),
    )


def time_words(test: PlannedTest) -> str:
    """Write the time of a test: the sending, and what comes with it."""
    more = f" + {test.minutes_more:g} min" if test.minutes_more else ""
    return minutes_words(test.seconds) + more


def claims_table(plan: Plan) -> Table:
    """Return how many clean characters each claim takes."""
    rows = [
        (
            Cell(f"fewer than 1 wrong in {c.one_in:,}"),
            Cell(f"{c.clean_characters:,}"),
            Cell(f"{c.rule_of_three:,}"),
            Cell(minutes_words(c.seconds)),
            Cell(metres_words(c.tape_m)),
        )
        for c in plan.claims
    ]
    return Table(
        ("claim, at 95 % confidence", "clean characters", "rule of three", "time", "tape"),
        (58, 30, 28, 24, 24),
        rows,
        "How many characters without a single wrong one each claim takes",
    )


def plan_pages(plan: Plan, as_of: datetime | None = None) -> Pages:
    """Return the sheet: cautions first, then one row a test with a box, then the claims."""
    name = plan.machine
    date = as_of or datetime(2026, 1, 1, tzinfo=UTC)
    when = f", as of {as_of:%Y-%m-%d %H:%M} UTC" if as_of else ""
    return Pages(
        f"Test plan of {name}",
        "What to send, how long it takes, how much tape; tick off what is done.",
        f"Test plan of {name}{when}",
        date,
        (_before(plan), _tests(plan), _claims(plan)),
    )


def _before(plan: Plan) -> Section:
    cautions = list(dict.fromkeys(caution for test in plan.tests for caution in test.cautions))
    facts = Facts(
        [
            ("speed", f"{plan.baud:.4g} Bd; a character takes {plan.character_ms:.1f} ms ({plan.character_from})"),
            ("feed pitch", f"{plan.pitch_mm:.3f} mm ({plan.pitch_from})"),
            ("all of it", f"{minutes_words(plan.seconds)} of sending, {metres_words(plan.tape_m)} of tape"),
            ("where it comes from", f"{plan.source} ({plan.standing})"),
        ]
    )
    blanks = Table(
        ("by", "date", "room, °C", "supply, V", "instrument"),
        (30, 26, 20, 24, 60),
        [tuple(Cell(" ") for _ in range(5))],
        "To fill in",
    )
    return Section("", [facts, *(Caution(f"{c}.") for c in cautions), blanks])


def _tests(plan: Plan) -> Section:
    rows = [
        (
            Cell(box=True),
            Cell(t.what, quiet=_what_to_do(t)),
            Cell(f"{t.characters:,}"),
            Cell(time_words(t)),
            Cell(metres_words(t.tape_m)),
            Cell(t.done, state=STATES[t.done]),
            Cell(" "),
        )
        for t in plan.tests
    ]
    head = ("", "test", "characters", "time", "tape", "on record", "wrong, notes")
    table = Table(head, (8, 62, 20, 24, 16, 24, 32), rows, "The tests to tick off")
    commands = [
        (Cell(t.what), Cell(t.command, quiet=t.check, mono=True) if t.command else Cell(t.check, mono=True))
        for t in plan.tests
    ]
    typed = Table(
        ("test", "to compose its signal; below, to read the capture"),
        (38, 142),
        commands,
        "Commands that compose the signals and read the captures",
    )
    return Section("The tests", [table, Text("What to type, where CAPTURE stands for the file you recorded:"), typed])


def _what_to_do(test: PlannedTest) -> str:
    return f"{test.shows}; {test.setting}" if test.setting else test.shows


def _claims(plan: Plan) -> Section:
    text = Text(
        "With none wrong in n characters, fewer than p are wrong at 95 % confidence when n is at least "
        "ln(0.05) / ln(1 − p), about 3/p. One wrong character takes a longer run: the proof works its bound out."
    )
    blocks: list[Block] = [text, claims_table(plan)]
    return Section("How many clean characters a claim takes", blocks)


#: Letters in a line of the terminal.
LINE = 100


def plan_text(plan: Plan) -> str:
    """Return the plan as text."""
    cautions = list(dict.fromkeys(c for test in plan.tests for c in test.cautions))
    out = [
        f"Test plan of {plan.machine}",
        f"  a character takes {plan.character_ms:.1f} ms ({plan.character_from})",
        f"  the feed pitch is {plan.pitch_mm:.3f} mm ({plan.pitch_from})",
        "",
        *(fill(f"! {caution}.", LINE, subsequent_indent="  ") for caution in cautions),
        "",
    ]
    width = max(len(test.what) for test in plan.tests)
    for test in plan.tests:
        out += _test_of_plan_text(test, width)
    out += ["", f"In all {minutes_words(plan.seconds)} of sending and {metres_words(plan.tape_m)} of tape.", ""]
    out.append("Without a single wrong character, at 95 % confidence:")
    out += [
        f"  fewer than 1 in {c.one_in:>6,} wrong takes {c.clean_characters:>6,} characters "
        f"(rule of three {c.rule_of_three:,}), {minutes_words(c.seconds)}, {metres_words(c.tape_m)}"
        for c in plan.claims
    ]
    return "\n".join(out)


def _test_of_plan_text(test: PlannedTest, width: int) -> list[str]:
    so_far = f", {test.have:,} of {test.want:,} {test.unit}" if test.have else ""
    head = (
        f"  {test.done:<8}  {test.what:<{width}}  {test.characters:>5,} characters, {time_words(test)}, "
        f"{metres_words(test.tape_m)}{so_far}"
    )
    setting = [f"            {test.setting}"] if test.setting else []
    return [head, *setting, *(f"            {command}" for command in (test.command, test.check) if command)]
