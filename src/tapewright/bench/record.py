"""Measure an arrived file and write it in the book as evidence, all or nothing."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from tapewright.bench.from_book import identity
from tapewright.bench.jobs import Telling
from tapewright.bench.landing import Landing, sweep_one
from tapewright.bench.measuring import LIMITS, SORTS, measure
from tapewright.bench.words import see
from tapewright.bench.workplace import Workplace
from tapewright.book.entry import NewEntry
from tapewright.book.in_words import in_a_sentence
from tapewright.furniture.phases import PHASES

MEASURED_UP_TO = 0.9
#: field of the form -> field of the machine's identity that stands in for it
FROM_IDENTITY = {"nominal": "nominal_baud", "alphabet": "alphabet"}


def measure_and_record(
    bench: Workplace,
    machine: str,
    sort: str,
    landing: Landing,
    said: Mapping[str, str],
    tell: Telling,
    *,
    then: Sequence[NewEntry] = (),
    stays: bool = False,
) -> str:
    """Return the path where the evidence is seen.

    Args:
        bench: where it is measured.
        machine: its key.
        sort: of evidence.
        landing: the file.
        said: fields of the form.
        tell: how far it is.
        then: other lines to write in the same go, after it.
        stays: whether the file is somebody else's to take away.

    Raises:
        InputError: when the file cannot be read; nothing is written then.
    """
    from tapewright.bench.traces.kept import begin
    from tapewright.book.keep_result import RawFile, Result, Taken, keep_result

    picture_done: Callable[[], None] = lambda: None  # noqa: E731
    try:
        known, kind = identity(bench.book, machine), SORTS[sort]
        fields = {field: str(known[key]) for field, key in FROM_IDENTITY.items() if known.get(key)} | dict(said)
        settings, sha256 = kind.settings(fields), landing.digest.hexdigest()
        limits = _own_limits(said.get(LIMITS, ""), landing.path)
        document = measure(kind, landing.path, settings, lambda done: tell.progress(done * MEASURED_UP_TO), limits)
        # under the name it came with, and with the fingerprint that was taken on the way in
        document["source"] = {**document.get("source", {}), "file": landing.name, "sha256": sha256}
        tell.found(in_a_sentence(document))
        steps = {"command": kind.command, "settings": settings}
        picture_done = begin(bench.traces, sort, {"result": document, "steps": steps}, landing.path)
        by, instrument, note = (said.get(name, "") for name in ("by", "instrument", "note"))
        taken = Taken(said.get("phase", PHASES[0]), by, instrument, note=note)
        raw = [RawFile(kind.role, landing.name, sha256, landing.path)]
        if limits is not None:
            content = limits.read_bytes()
            raw.append(RawFile(LIMITS, limits.name, hashlib.sha256(content).hexdigest(), content))
        entry = keep_result(bench.book, machine, Result(document, kind.command, settings, raw, taken, then=then))
        bench.standings.of(bench.book.machine(machine))  # so that the page need not wait for it
        return see({"sort": sort, "key": entry.key}, machine)
    finally:
        picture_done()
        if not stays:
            sweep_one(landing.path)


def _own_limits(typed: str, beside: Path) -> Path | None:
    """Return a file of the limits that were typed, beside the file they are for; None when none were."""
    if not typed.strip():
        return None
    path = beside.with_name("limits.toml")
    path.write_text(typed.replace("\r\n", "\n"), encoding="utf-8")
    return path
