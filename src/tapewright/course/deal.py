"""Which adapters make practice: faults, machines that are dealt, the file of rounds."""

import secrets
from pathlib import Path
from typing import TYPE_CHECKING

from tapewright.errors import WrongUseError

if TYPE_CHECKING:
    from tapewright.advisor.machine_model import Model
    from tapewright.practice.faulty_machine import FaultyMachine

#: Practice machines are numbered below this.
LARGEST_SEED = 1_000_000


def practice_faults(model: "Model") -> list[str]:
    """Return the faults of a model that the practice machine can have."""
    from tapewright.practice.faulty_machine import FAULTS

    return [name for name in model.causes if name in FAULTS]


def deal_practice_machine(model: "Model", seed: int | None, count: int, fault: str) -> "tuple[int, FaultyMachine]":
    """Deal a practice machine for a model; give its number with it, so that it can be dealt again.

    Raises:
        WrongUseError: for a fault the practice machine cannot have.
    """
    import numpy as np

    from tapewright.practice.faulty_machine import deal, deal_random

    number = secrets.randbelow(LARGEST_SEED) if seed is None else seed
    rng = np.random.default_rng(abs(number))
    if fault and fault not in practice_faults(model):
        raise WrongUseError(f"the practice machine cannot have {fault!r}; `practice --list-faults` lists its faults")
    return number, deal([fault], rng) if fault else deal_random(model.causes, count, rng)


def practice_file(where: str | None) -> Path:
    """Return the file in which the bench keeps rounds of practice: beside the book, else in the user's data folder."""
    from tapewright.book.store.place import data_folder, place_of

    file = place_of(where).file
    return data_folder() / "practice.json" if file is None else file.with_name(f"{file.name}.practice.json")
