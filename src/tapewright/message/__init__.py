"""What was sent against what came: alignment, kinds of error, a bound on the rate. Line and tape share it.

alignment    which received code answers which sent code; losses and extras first
cheapest_way the search behind it
message      what came, without lead-in and run-out
kinds        what may have turned one sent code into the one received, all that fits
whole_text   one cause that explains the whole text: order, polarity, sampling, delay
tally        counts per kind, element, sent code and previous code
rate         the share of wrong characters with its upper bound
comparison   all of it, in that order
"""

from tapewright.message.alignment import Alignment, Pair, align
from tapewright.message.comparison import Comparison, Judged, compare
from tapewright.message.kinds import ErrorKind, Fit, fits
from tapewright.message.rate import ErrorRate, error_rate, rule_of_three
from tapewright.message.tally import Tally
from tapewright.message.whole_text import Explanation, explain_whole

__all__ = [
    "Alignment", "Comparison", "ErrorKind", "ErrorRate", "Explanation", "Fit", "Judged", "Pair", "Tally",
    "align", "compare", "error_rate", "explain_whole", "fits", "rule_of_three",
]
