"""Measure an arrived file and write it in the book as evidence, all or nothing."""

from collections.abc import Callable
from typing import Any

from tapewright.core.book.kinds import PHASES
from tapewright.web.bench import Bench
from tapewright.web.landing import Landing, sweep_one
from tapewright.web.machines import identity
from tapewright.web.measuring import Arrived, measure, says
from tapewright.web.words import see

MEASURED_UP_TO = 0.9
#: field of the form -> field of the machine's identity that stands in for it
FROM_IDENTITY = {"nominal": "nominal_baud", "alphabet": "alphabet"}
#: fields of the form that are about the measuring, and are kept with the evidence so that it can be done again
KEPT = ("nominal", "alphabet", "expect", "channel", "rate", "dpi", "supply", "shunt", "series_ohm", "scale")


def measure_and_record(
    bench: Bench, machine: str, sort: str, landing: Landing, said: dict[str, str], progress: Callable[[float], None]
) -> str:
    """Give the path where the evidence is seen.

    Raises:
        InputError: when the file cannot be read; nothing is written then.
    """
    try:
        known = identity(bench.book, machine)
        fields = {field: str(known[key]) for field, key in FROM_IDENTITY.items() if known.get(key)} | said
        sha256 = landing.digest.hexdigest()
        arrived = Arrived(landing.path, landing.name, sha256, fields, lambda done: progress(done * MEASURED_UP_TO))
        document = measure(sort, arrived)
        body: dict[str, Any] = {
            "sort": sort, "phase": said.get("phase", PHASES[0]), "says": says(sort, document), "result": document,
            "sources": [{"sha256": sha256, "name": landing.name, "role": sort}],
            "steps": {"measure": sort, **{key: fields[key] for key in KEPT if fields.get(key)}},
        }  # fmt: skip
        entry = bench.write(machine, "evidence", body, files={sha256: landing.path}, by=said.get("by", ""))
        bench.standings.of(bench.book.machine(machine))  # so that the page need not wait for it
        return see({"sort": sort, "key": entry.key}, machine)
    finally:
        sweep_one(landing.path)
