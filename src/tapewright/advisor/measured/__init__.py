"""Findings from result documents: what was measured becomes present, absent or not examined.

strength    from a value with its doubt to a likelihood
fields      look a figure up in a document, in the shapes the contract allows
line, tape, sheet, coil,
margin, speed, supply       one file per kind of document, one function per rule, one table of rules
ratio       a speed that is off by an exact ratio, for line and speed alike
documents   which document it is, which findings it can speak about
together    what two documents of one event say together
"""

from tapewright.advisor.measured.documents import answers_from, answers_from_all, is_document, proves_speed

__all__ = ["answers_from", "answers_from_all", "is_document", "proves_speed"]
