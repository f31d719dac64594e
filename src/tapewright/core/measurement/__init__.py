"""What a number is, anywhere in Tapewright: a value with its doubt, judged against a limit with its source."""

from tapewright.core.measurement.limit import Limit
from tapewright.core.measurement.reading import Reading, missing
from tapewright.core.measurement.source import Source, Standing
from tapewright.core.measurement.verdict import State, Verdict, judge, judge_interval

__all__ = ["Limit", "Reading", "Source", "Standing", "State", "Verdict", "judge", "judge_interval", "missing"]
