"""The proof: from a machine's lines in the book to what is shown, how sure it is, and what was not shown.

plain          JSON bodies that anybody may have written, taken as they are
lines          entries > evidence with its phase and its conditions; what was corrected is left out
phases         which evidence speaks for the machine as found and as left
planned_tests  the table of tests; plan: characters, time, tape, command; claims: how many clean characters
coverage       what of the plan the evidence covers
document       the sections, one frozen dataclass each
prove          all of it, in the order of the pages
"""
