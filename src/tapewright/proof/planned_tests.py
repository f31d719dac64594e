"""The table of tests that a proof asks for. To add a test, add a row.

Which texts and conditions are tried, and how many characters of each, is common practice without a source; the full
speed test takes its length from the claim that is wanted (see claims.py).
"""

from dataclasses import dataclass

from tapewright.number import Source, Standing

PRACTICE = Source("the usual test texts and conditions of the trade", "", Standing.COMMON_PRACTICE)

POWER_CAUTION = (
    "Mains and moving parts: pull the plug before you touch wiring, covers on, hair and sleeves tied back. Change the "
    "supply only with a regulated supply or an isolated variable transformer made for it, and stop at the first smell, "
    "smoke or hum that is new. Local codes and licensed practice rule"
)
RUNNING_CAUTION = (
    "The machine runs under power: covers on, hands, hair and sleeves away from shaft, clutch and punch. "
    "Local codes and licensed practice rule"
)


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One test as the table holds it.

    Attributes:
        key: short name; evidence may name it.
        what: as a sheet prints it.
        pattern: the test text, a name of `line compose --pattern`.
        characters: how many; 0 for once through the pattern, None for what the wanted claim takes.
        shows: what it is good for.
        setting: what else is to be set or minded; empty for nothing.
        measure: how it is seen to be done, a key of `coverage.MEASURES`.
        minutes_more: time beside the sending itself: warming up, setting, cooling down.
        cautions: what to mind before, each a sentence without its stop.
        check: the command that does the whole test and keeps it, {machine} standing for its name; empty for a signal
            that is composed and a capture that is read.
        noted: options that write the conditions beside the evidence.
    """

    key: str
    what: str
    pattern: str
    characters: int | None
    shows: str
    setting: str
    measure: str
    minutes_more: float = 0.0
    cautions: tuple[str, ...] = (RUNNING_CAUTION,)
    noted: str = ""
    check: str = ""


TESTS: tuple[PlanRow, ...] = (
    PlanRow("blank", "Blank leader", "blank", 100, "the longest space: speed, start and stop alone; feed alone", "",
            "blank"),
    PlanRow("all-marks", "All marks", "letters", 100, "the longest mark: split marks, all pins at once", "", "letters"),
    PlanRow("r-y", "R and Y by turns", "ry", 200, "every element changes with every character", "", "ry"),
    PlanRow("single-marks", "Single marks", "single-marks", 200, "each contact, magnet pull and pin by itself", "",
            "single-marks"),
    PlanRow("single-spaces", "Single spaces", "single-spaces", 200, "each release by itself", "", "single-spaces"),
    PlanRow("all-codes", "All 32 codes", "all-codes", 0, "every combination once", "", "all-codes"),
    PlanRow("all-pairs", "All ordered pairs of codes", "all-pairs", 0,
            "what is left over from the character before", "", "all-pairs"),
    PlanRow("pangram", "A sentence with every letter", "pangram", 0, "every letter key, and people can read it", "",
            "pangram"),
    PlanRow("full-speed", "Full speed, long enough for the claim", "all-pairs", None,
            "the share of wrong characters", "without a pause, from tape or a signal", "full-speed"),
    PlanRow("hand-keyed", "Keyed by hand", "pangram", 100, "clutch and latch: start and stop of every character",
            "struck one by one with uneven pauses", "hand-keyed", noted="--keyed hand"),
    PlanRow("cold", "Cold", "ry", 200, "gummed oil, tight bearings, governor before it settles",
            "in the first five minutes after a night at rest; write down the room temperature", "cold",
            noted="--running 2"),
    PlanRow("warm", "Warm", "ry", 200, "drift of the speed, play that opens",
            "after thirty minutes of running; write down the minutes", "warm", 30.0, noted="--running 30"),
    PlanRow("supply-low", "Supply 10 % low", "ry", 200, "what the motor and the magnets have in hand",
            "supply at 90 % of nominal, ten minutes, then the test", "supply-low", 10.0,
            (POWER_CAUTION, "A motor that stalls or lags on low supply overheats: watch it, and switch off at once"),
            noted="--supply-percent -10"),
    PlanRow("supply-high", "Supply 10 % high", "ry", 200, "heat, bounce, speed",
            "supply at 110 % of nominal, ten minutes, then the test; never above what motor and lamps are rated for",
            "supply-high", 10.0, (POWER_CAUTION,), "--supply-percent 10"),
    PlanRow("margin", "Receiver's range, swept", "pangram", 0, "how much a signal may be out before it prints wrong",
            "at proven speed; the pangram comes once for each of at most 14 questions", "margin", 10.0,
            check='tapewright line margin --to sound --speed-proven --for {machine} --phase "as left"'),
)  # fmt: skip
