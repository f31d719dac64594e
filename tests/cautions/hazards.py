"""What a step can do to somebody, by the words of the step; written from the trade's hazards, not from the model.

    words of the step  -->  words that a caution must hold, one of them, before the step

Common practice, no source: mains and loop voltage, stored charge, moving parts and pins, springs and chips in the eye,
solvents, and the old materials (asbestos, cadmium plating, lead paint and solder, celluloid, mercury, PCB, selenium).
"""

import re
from collections.abc import Iterable

#: (what the step says, one of these must stand before it)
HAZARDS: tuple[tuple[str, str], ...] = (
    (r"\b(clean(?!\s*(lint|signal))|degrease|penetrant)", r"[Ss]olvent"),
    (r"\bsprings?\b(?! balance)|\btension|spring drum", r"eye protection"),
    (r"solder", r"\blead\b"),
    (r"\b(dress|regrind|resurface|re-cover|build up|burr)\b", r"cadmium"),
    (r"\b(straighten|bend)\b", r"eye protection"),
    (r"capacitor|snubber", r"[Dd]ischarge"),
    (r"\brelay\b", r"mercury"),
    (r"strobe", r"strobe is turning"),
    (r"\b(rewind|rewound|re-sleeve|brake)\b", r"asbestos"),
    (r"start capacitor and winding|oil-filled|suppressor capacitor", r"PCB"),
    (r"rectifier|another supply|constant voltage", r"selenium"),
    (r"\bcoil\b.*\bresistance|loop|line with|second sender", r"[Uu]nplug|100 V|[Pp]lug out"),
    (r"\b(punch|die|pins?)\b", r"[Pp]lug"),
    (r"\bmotor\b", r"[Uu]nplug|[Pp]lug|switch off"),
)
#: risk or depth of a step -> one of these must stand before it
BY_RISK = {
    "power": r"plug out|Plug out|[Uu]nder power|fingers away",
    "loop": r"100 V|[Uu]nplug",
    "hand": r"[Pp]lug|[Uu]nplug",
}
BY_DEPTH = dict.fromkeys(("covers", "assembly", "strip"), r"[Pp]lug|[Uu]nplug")


def lacking(step: str, cautions: Iterable[str], *, risk: str = "none", depth: str = "none") -> list[str]:
    """Return what should stand before the step and does not."""
    said = " ".join(cautions)
    wanted = [need for words, need in HAZARDS if re.search(words, step, re.IGNORECASE)]
    wanted += [table[key] for table, key in ((BY_RISK, risk), (BY_DEPTH, depth)) if key in table]
    return [need for need in wanted if not re.search(need, said)]
