"""The phases of a restoration. A file of its own, so that what is pure can read it."""

#: when in the restoration something was measured
PHASES: tuple[str, ...] = ("as found", "between", "as left")
