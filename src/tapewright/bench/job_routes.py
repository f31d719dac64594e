"""Jobs as the browser sees them: one job, and the stream of events that tells of all of them.

Server-sent events (WHATWG HTML, 9.2): `event: job` with the job as JSON each time one changes; a comment every few
seconds so that a dead connection is noticed.
"""

import asyncio
import json
from collections.abc import AsyncIterator
from dataclasses import asdict
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response, StreamingResponse
from starlette.routing import Route

from tapewright.bench.drawing import Drawing
from tapewright.bench.jobs import Job

LOOK_EVERY_S, BREATHE_EVERY_S = 0.1, 10.0


def job_document(job: Job) -> dict[str, Any]:
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
