"""What to mind before a wire of the line is touched; local codes and licensed practice rule.

Common practice, no source.
"""

BEFORE_A_WIRE = (
    "Before a clip goes on or off: a loop can stand at 120 V or more and kicks far above that when it opens. Loop "
    "supply off, terminals proved dead; take the signal through something isolated. Local codes and licensed practice "
    "rule."
)
WHILE_IT_RUNS = (
    "The machine runs while you watch: covers on, hair, sleeves and fingers out of it; plug out before a screw."
)
SOAK = (
    "Never leave a machine running alone on its first days; look and smell every quarter of an hour; extinguisher near."
)
WATCH_CAUTIONS = (BEFORE_A_WIRE, WHILE_IT_RUNS)
SOAK_CAUTIONS = (*WATCH_CAUTIONS, SOAK)
