"""What may be said to the advisor: the evidence given by hand, and how far the next test may go."""

import math
from dataclasses import dataclass

from tapewright.advisor.evidence_table import Table
from tapewright.advisor.next_test import Bounds
from tapewright.furniture.kinds import Choice, Number, Several, Text
from tapewright.furniture.settings import RefusedError, Settings, setting


@dataclass(frozen=True, kw_only=True)
class AdviceSettings(Settings):
    """Settings of `tapewright diagnose`."""

    evidence: tuple[str, ...] = setting(
        Several(Text()),
        "Evidence files",
        (),
        "Evidence file (TOML, JSON) or JSON document of a measuring command; may stand several times.",
        metavar="FILE",
        page=False,
    )
    machine: str = setting(
        Text(),
        "Machine",
        "",
        "A machine of the book, whose evidence is taken; else a machine model, or a TOML file of your own.",
        metavar="NAME",
    )
    yes: tuple[str, ...] = setting(
        Several(Text()), "Is so", (), "This is so: a finding's id or words for it.", metavar="WORDS"
    )
    no: tuple[str, ...] = setting(
        Several(Text()), "Is not so", (), "This was looked for and is not so.", metavar="WORDS"
    )
    cannot_say: tuple[str, ...] = setting(
        Several(Text()), "Cannot be said", (), "This was looked at and says nothing.", metavar="WORDS"
    )
    done: tuple[str, ...] = setting(
        Several(Text()), "On record", (), "On record: 'dead electrical check', 'speed proven', ...", metavar="GATE"
    )
    tried: tuple[str, ...] = setting(
        Several(Text()), "Tried in vain", (), "The remedy of this cause was done in vain.", metavar="CAUSE"
    )
    sent: str = setting(Text(), "Characters sent", "", "Characters sent ...", metavar="TEXT")
    received: str = setting(Text(), "Characters received", "", "... and what came for them.", metavar="TEXT")
    risk: str = setting(Choice(("none", "hand", "power", "loop")), "Highest risk of the next test", "loop")
    depth: str = setting(
        Choice(("none", "covers", "assembly", "strip")), "How deep the next test may dismantle", "covers"
    )
    minutes: float = setting(Number(0.1, math.inf, "min"), "Longest time for the next test", 60.0)

    def check(self) -> None:
        """Refuse characters sent without those received."""
        if bool(self.sent) != bool(self.received):
            raise RefusedError("received", "--sent and --received together", "only one of them")

    @property
    def bounds(self) -> Bounds:
        """What the next test may risk and take."""
        return Bounds(self.risk, self.depth, self.minutes)

    @property
    def table(self) -> Table:
        """What was said by hand, in the shape of an evidence file."""
        lists = {key: getattr(self, key) for key in ("yes", "no", "cannot_say", "done", "tried")}
        pairs = [{"sent": self.sent, "received": self.received}] if self.sent else []
        return {key: list(given) for key, given in lists.items() if given} | ({"pairs": pairs} if pairs else {})
