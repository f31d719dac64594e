"""The kinds of line a book can hold. To add a kind, add a line."""

#: kind -> what such a line says
KINDS: dict[str, str] = {
    "identity": "what the machine is: name, model, serial, alphabet, nominal speed, modules and variants",
    "intake": "the machine as it came: survey, weight, hazards, what is missing, who brought it",
    "condition": "one line of the condition sheet: part, state, what to do",
    "dismantled": "one step of taking apart: part, bag, shims, springs, which way round",
    "part": "a part or a consumable: fitted, ordered, used, where it came from",
    "electrical check": "one check of the dead machine: between what, reading, verdict",
    "session": "a work session begun or ended",
    "evidence": "something measured, observed or worked out: line, tape, coil, gauge, margin, speed, observation, ...",
    "sheet": "the machine's requirements as the user entered them",
    "trial": "a knob moved and what it did",
    "adjustment": "something changed: before, after, why, what must be checked again",
    "verdicts": "evidence judged against limits",
    "recheck": "a check that is owed, or one that was done",
    "caution": "a caution shown and acknowledged",
    "photo": "a picture, with what it shows",
    "note": "anything else in words",
    "record": "a start record (what we knew) or an end record (what we know)",
    "soak": "a long run: characters, errors, time",
}

#: What evidence can be of, and the document it carries as its result.
SORTS: dict[str, str] = {
    "line": "tapewright/line/1",
    "tape": "tapewright/tape/1",
    "coil": "tapewright/coil/1",
    "gauge": "tapewright/sheet/1",
    "observation": "tapewright/observation/1",
    "comparison": "tapewright/compare/1",
    "margin": "tapewright/margin/1",
    "speed": "tapewright/speed/1",
    "supply": "tapewright/supply/1",
    "sent": "tapewright/sent/1",
    "train": "tapewright/train/1",
    "pinion": "tapewright/pinion/1",
    "makeshift": "tapewright/makeshift/1",
}

#: Sorts that say what was reckoned, sent or borrowed: no verdict of theirs is one on the machine.
NOT_THE_MACHINE = frozenset({"sent", "train", "pinion", "makeshift"})
