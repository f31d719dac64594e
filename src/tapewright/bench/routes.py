"""Routes beside the pages: jobs and their events, the choice of units, the pairing of a second bench, refusals.

    GET  /jobs/JOB, /jobs/JOB.json   how far a piece of work is; the page goes on to the result when it is there
    GET  /events                     server-sent events (WHATWG HTML, 9.2): `event: job` each time one changes
    POST /units                      metric or inch, kept in a cookie and not in the book
    GET, POST /pair                  asks a stranger of the local network for the pairing code

What cannot be done is said on a page, with what was expected, what was found and what to do; programs get JSON.
"""

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from dataclasses import asdict
from typing import Any
from urllib.parse import urlsplit

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from tapewright.bench.bench import Bench
from tapewright.bench.drawing import UNITS_COOKIE, Drawing
from tapewright.bench.jobs import Job
from tapewright.bench.page_routes import TWIN
from tapewright.bench.trust.gate import PASS
from tapewright.bench.trust.keys import HEADER
from tapewright.bench.trust.sharing import Sharing
from tapewright.errors import TapewrightError, WrongUseError

LOOK_EVERY_S, BREATHE_EVERY_S = 0.1, 10.0


def job_document(job: Job) -> dict[str, object]:
    """Return a job as JSON."""
    return {"format": "tapewright/bench/job/1", **asdict(job)}


def job_routes(drawing: Drawing) -> list[Route]:
    """Return the routes."""
    jobs = drawing.bench.jobs

    def known(request: Request) -> Job:
        job = jobs.get(request.path_params["job"])
        if job is None:
            raise HTTPException(404)
        return job

    async def shown(request: Request) -> Response:
        job = known(request)
        if job.see:
            return RedirectResponse(job.see, 303)
        return drawing.template(request, "job.html", {"doc": {"job": job}})

    async def twin(request: Request) -> Response:
        return JSONResponse(job_document(known(request)), headers={"cache-control": "no-store"})

    async def events(request: Request) -> Response:
        async def told() -> AsyncIterator[str]:
            seen, quiet_s = 0, 0.0
            yield ": the bench\n\n"
            while not (drawing.bench.stopping.is_set() or await request.is_disconnected()):
                seen, changed = jobs.since(seen)
                for job in changed:
                    yield f"event: job\ndata: {json.dumps(job_document(job))}\n\n"
                await asyncio.sleep(LOOK_EVERY_S)
                quiet_s = 0.0 if changed else quiet_s + LOOK_EVERY_S
                if quiet_s >= BREATHE_EVERY_S:
                    quiet_s = 0.0
                    yield ": \n\n"

        return StreamingResponse(told(), media_type="text/event-stream", headers={"cache-control": "no-store"})

    return [Route("/jobs/{job}.json", twin), Route("/jobs/{job}", shown), Route("/events", events)]


YEAR_S = 31_536_000


def settings_route(bench: Bench) -> Route:
    """Return the route that sets the units."""

    async def choose(request: Request) -> Response:
        async with request.form(max_files=0, max_fields=5) as form:
            units, back = str(form.get("units", "")), str(form.get("back", "/"))
        answer = RedirectResponse(own_path(back), 303)
        answer.set_cookie(UNITS_COOKIE, "inch" if units == "inch" else "metric", max_age=YEAR_S, samesite="strict")
        return answer

    return Route("/units", choose, methods=["POST"])


def own_path(path: str) -> str:
    """Return the path when it is one of this bench, the first page otherwise."""
    parts = urlsplit(path)
    inside = not parts.scheme and not parts.netloc and path.startswith("/") and not path.startswith(("//", "/\\"))
    return path if inside and path.isprintable() else "/"


PAIR = "/pair"
WRONG = "That is not the code. It stands where the bench was started. After five wrong codes the bench waits a minute."


def pairing_page(drawing: Drawing) -> Callable[[Request], Response]:
    """Return what draws the page."""
    return lambda request: drawing.template(request, "pair.html", {"doc": {"says": ""}}, 401)


def pair_route(drawing: Drawing, sharing: Sharing) -> Route:
    """Return the route that takes the code."""

    async def pair(request: Request) -> Response:
        if request.method == "GET":
            return drawing.template(request, "pair.html", {"doc": {"says": ""}})
        async with request.form(max_files=0, max_fields=3) as form:
            passed = sharing.pair(str(form.get("code", "")))
        if passed is None:
            return drawing.template(request, "pair.html", {"doc": {"says": WRONG}}, 401)
        answer = RedirectResponse("/", 303)
        answer.set_cookie(PASS, passed, httponly=True, samesite="strict")
        return answer

    return Route(PAIR, pair, methods=["GET", "POST"])


NOT_FOUND = "There is nothing at this address. Perhaps the machine was named otherwise, or the line is in another book."
TITLES = {
    400: "That cannot be done",
    403: "Not let in",
    404: "Not on this bench",
    405: "Not that way",
    413: "Too large",
    415: "Not a kind that can be read",
    422: "That could not be taken",
    500: "The program stopped",
}
Handler = Callable[[Request, Any], Awaitable[Response]]


def handlers(drawing: Drawing) -> dict[Any, Handler]:
    """Return what answers for each kind of refusal."""

    async def http(request: Request, refusal: HTTPException) -> Response:
        says = NOT_FOUND if refusal.status_code == 404 else str(refusal.detail)
        return say_no(drawing, request, refusal.status_code, says)

    async def refused(request: Request, refusal: TapewrightError) -> Response:
        reading = request.method in ("GET", "HEAD")
        status = 400 if isinstance(refusal, WrongUseError) else 404 if reading else 422
        return say_no(drawing, request, status, str(refusal))

    async def stopped(request: Request, _: Exception) -> Response:
        return say_no(drawing, request, 500, "The program stopped in the middle of this. Nothing was half-written.")

    return {HTTPException: http, TapewrightError: refused, Exception: stopped}


def say_no(drawing: Drawing, request: Request, status: int, says: str) -> Response:
    """Return the refusal as a page, or as JSON to a program."""
    if request.url.path.endswith(TWIN) or HEADER in request.headers:
        return JSONResponse({"says": says}, status)
    doc = {"title": TITLES.get(status, "That cannot be done"), "says": says}
    return drawing.template(request, "refusal.html", {"doc": doc}, status)
