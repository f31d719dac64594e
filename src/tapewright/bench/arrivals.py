"""Uploads: a file arrives, is recognised, is measured in the background, and lands in the book as evidence.

    POST /machines/{machine}/arrivals     body: the file itself, name in x-file-name, fields in the query (the script)
                                          or a form with `file` and the same fields (without script)
      --> the file in the arrivals folder, its fingerprint taken as it comes
      --> 413 too large, 415 of no kind that can be read: nothing is kept
      --> a job: measure, write evidence and file in the book all or nothing, take the file away

A server killed in the middle leaves at most a file in the arrivals folder, which the next start empties.
"""

from collections.abc import AsyncIterator
from urllib.parse import unquote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from tapewright.bench.bench import Bench
from tapewright.bench.landing import LARGEST_BYTES, PIECE, TOO_LARGE, Landing, land, own_folder, sweep_one
from tapewright.bench.measuring import SORTS
from tapewright.bench.record import measure_and_record
from tapewright.bench.trust.keys import FIELD, HEADER, brings_cookie, is_form_key
from tapewright.furniture.phases import PHASES

LONGEST_FIELD_BYTES = 100_000


def arrivals_route(bench: Bench) -> Route:
    """Return the route that takes files, with and without .json."""

    async def arrive(request: Request) -> Response:
        machine = await run_in_threadpool(bench.book.machine, request.path_params["machine"])
        _check_size(request)
        if not brings_cookie(request, bench.keys):
            raise HTTPException(403, "This page is from before the bench was started. Load it again, then send.")
        raw = request.headers.get("content-type", "").startswith("application/octet-stream")
        landing, said = await (_raw(request, bench) if raw else _form(request, bench))
        try:
            sort = await run_in_threadpool(_sort, landing, said)
        except HTTPException:
            sweep_one(landing.path)
            raise
        job = bench.jobs.start(
            machine.key,
            f"{SORTS[sort].title}: {landing.name}",
            lambda progress: measure_and_record(bench, machine.key, sort, landing, said, progress),
        )
        if HEADER in request.headers:
            return JSONResponse({"job": job.id, "see": f"/jobs/{job.id}"}, 202)
        return RedirectResponse(f"/jobs/{job.id}", 303)

    return Route("/machines/{machine}/arrivals", arrive, methods=["POST"])


def _check_size(request: Request) -> None:
    length = request.headers.get("content-length")
    if length is None or not length.isdecimal():
        raise HTTPException(411, "The size of the file must be said before it is sent.")
    if int(length) > LARGEST_BYTES:
        raise HTTPException(413, TOO_LARGE)


async def _raw(request: Request, bench: Bench) -> tuple[Landing, dict[str, str]]:
    if not is_form_key(request.headers.get(HEADER, ""), bench.keys):
        raise HTTPException(403, "This did not come from a page of the bench. Load the page again, then send.")
    landing = own_folder(bench.arrivals, unquote(request.headers.get("x-file-name", "")))
    await land(landing, request.stream())
    return landing, dict(request.query_params)


async def _form(request: Request, bench: Bench) -> tuple[Landing, dict[str, str]]:
    async with request.form(max_files=1, max_fields=30, max_part_size=LONGEST_FIELD_BYTES) as form:
        said = {name: value for name, value in form.items() if isinstance(value, str)}
        if not is_form_key(said.pop(FIELD, ""), bench.keys):
            raise HTTPException(403, "This did not come from a page of the bench. Load the page again, then send.")
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            raise HTTPException(422, f"No file was chosen. Choose {_kinds()}.")
        landing = own_folder(bench.arrivals, file.filename)

        async def pieces() -> AsyncIterator[bytes]:
            while piece := await file.read(PIECE):
                yield piece

        await land(landing, pieces())
    return landing, said


def _sort(landing: Landing, said: dict[str, str]) -> str:
    from tapewright.bench.recognise import recognise

    if not landing.size:
        raise HTTPException(422, f"{landing.name} is empty. Record or export it again.")
    if said.get("phase", PHASES[0]) not in PHASES:
        raise HTTPException(422, f"When it was taken must be one of {', '.join(PHASES)}.")
    found = recognise(landing.head, rate_given=bool(said.get("rate")))
    wanted = said.get("what", "")
    if found is None:
        raise HTTPException(415, f"{landing.name}: expected {_kinds()}; found something else.")
    if wanted and (wanted not in SORTS or (wanted == "tape") != (found == "tape")):
        raise HTTPException(415, f"{landing.name}: it was sent as {wanted[:20]!r}, but it is not one.")
    return wanted or found


def _kinds() -> str:
    from tapewright.bench.recognise import file_kinds

    captures, pictures = file_kinds()
    return f"a line capture ({captures}) or a picture of tape ({pictures})"
