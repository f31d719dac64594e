"""Rounds of practice, kept in a file beside the book, so that they are there after the bench was stopped.

A round is its kind of machine, the number it was dealt by, and what was done in order. The same number deals the same
machine, which answers the same questions in the same way; so a round is played again from these, and no fault is kept.

    {"id", "kind", "number", "begun", "did": [{"do": "test" | "remedy", "name"}, ...]}  --played again--> Round
"""

import json
import os
import secrets
import threading
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from tapewright.bench.words import KINDS
from tapewright.errors import InputError

if TYPE_CHECKING:
    from tapewright.course.practise import Round

#: The oldest rounds make room.
MOST_ROUNDS = 200
FORMAT = "tapewright/practice-rounds/1"


@dataclass(frozen=True, slots=True)
class Did:
    """One thing done: a test or a remedy, by name."""

    do: Literal["test", "remedy"]
    name: str


@dataclass(slots=True)
class Played:
    """One round as it is kept, and as it stands once it was looked at.

    Attributes:
        id, kind, number, begun: its id, the machine's kind, the number it was dealt by, when (ISO 8601, UTC).
        did: what was done, in order.
        play, machine: the round and the machine; None until somebody looks at it.
    """

    id: str
    kind: str
    number: int
    begun: str
    did: list[Did] = field(default_factory=list)
    play: "Round | None" = None
    machine: Any = None


class Rounds:
    """All rounds of a bench, the newest last. Several pages may be open: one thing at a time is done to them."""

    def __init__(self, path: Path | None) -> None:
        """Take up those of a file, when there is one; what cannot be read is left alone and none is begun with."""
        self.path, self._lock = path, threading.RLock()
        self._rounds = {played.id: played for played in _read(path)}

    def begin(self, kind: str, begun: str, number: int | None = None) -> Played:
        """Deal a machine of a kind and keep the round."""
        with self._lock:
            played = Played(secrets.token_hex(8), kind, 0, begun)
            played.number, played.play, played.machine = _dealt(kind, number)
            self._rounds[played.id] = played
            while len(self._rounds) > MOST_ROUNDS:
                del self._rounds[next(iter(self._rounds))]
            self._write()
            return played

    def get(self, id_: str) -> tuple[Played, "Round"]:
        """Return a round as it stands.

        Raises:
            InputError: when there is none of this id.
        """
        with self._lock:
            if id_ not in self._rounds:
                raise InputError(
                    "practice", expected="a round that was dealt here", found=repr(id_[:20]), do="Deal a new machine."
                )
            played = self._rounds[id_]
            if played.play is None:
                _, played.play, played.machine = _dealt(played.kind, played.number)
                played.did = [did for did in played.did if _do(played.play, did)]
            return played, played.play

    def do(self, id_: str, did: Did) -> bool:
        """Do a test or a remedy; say whether it could be done."""
        with self._lock:
            played, play = self.get(id_)
            done = _do(play, did)
            if done:
                played.did.append(did)
                self._write()
            return done

    def all(self) -> "list[tuple[Played, Round]]":
        """Return every round as it stands, the newest first."""
        with self._lock:
            return [self.get(id_) for id_ in reversed(list(self._rounds))]

    def _write(self) -> None:
        """Put the file in place of the one before, whole or not at all."""
        if self.path is None:
            return
        kept = [
            {"id": p.id, "kind": p.kind, "number": p.number, "begun": p.begun, "did": [asdict(did) for did in p.did]}
            for p in self._rounds.values()
        ]
        beside = self.path.with_name(f"{self.path.name}.{os.getpid()}.new")
        try:
            beside.write_text(json.dumps({"format": FORMAT, "rounds": kept}, indent=1), encoding="utf-8")
            beside.replace(self.path)
        except OSError:
            beside.unlink(missing_ok=True)  # a full disk takes the practice, never the work


def _read(path: Path | None) -> list[Played]:
    try:
        document = json.loads(path.read_text(encoding="utf-8")) if path is not None else {}
        rounds = [
            Played(
                str(r["id"]),
                str(r["kind"]),
                int(r["number"]),
                str(r["begun"]),
                [Did(d["do"], str(d["name"])) for d in r["did"]],
            )
            for r in document.get("rounds", [])
        ]
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return []
    return [played for played in rounds if played.kind in KINDS]


def _dealt(kind: str, number: int | None) -> "tuple[int, Round, Any]":
    from tapewright.advisor.models import load
    from tapewright.course.deal import deal_practice_machine
    from tapewright.course.practise import begin

    model = load(kind)
    number, machine = deal_practice_machine(model, number, 1, "")
    return number, begin(model, machine, machine.by_fault), machine


def _do(play: "Round", did: Did) -> bool:
    """Do it when it can be done."""
    if play.mended:
        return False
    if did.do == "test" and did.name in {test.name for test in play.open_tests()}:
        play.do_test(did.name)
    elif did.do == "remedy" and did.name in play.model.causes:
        play.do_remedy(did.name)
    else:
        return False
    return True
