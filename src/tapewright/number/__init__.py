"""What a number is, anywhere in Tapewright: a value with its doubt, judged against a limit with its source."""

from tapewright.number.limit import Limit, Source, Standing
from tapewright.number.reading import Reading, missing
from tapewright.number.verdict import State, Verdict, judge, judge_interval

__all__ = ["Limit", "Reading", "Source", "Standing", "State", "Verdict", "judge", "judge_interval", "missing"]
