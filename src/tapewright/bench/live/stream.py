"""What is watched, as it happens, to any number of pages: server-sent events (WHATWG HTML, 9.2).

id: 17                        a page that comes back says the last id it has seen, and goes on from there
data: {"kind": "character"}   one line of the watch
event: picture                how all stands, for a page that is new or was too slow for single events
"""

import asyncio
import json
import threading
from collections.abc import AsyncIterator, Iterator

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from tapewright.bench.bench import Bench
from tapewright.bench.live.watching import Watching

LOOK_EVERY_S, BREATHE_EVERY_S = 0.5, 5.0
NEW = -1


def stream_route(bench: Bench) -> Route:
    """Return the route of the stream."""

    async def events(request: Request) -> Response:
        machine = await run_in_threadpool(bench.book.machine, request.path_params["machine"])
        watching = bench.watches.of(machine.key)
        if watching is None:
            return Response(status_code=204)  # tells a browser not to ask again
        seen = request.headers.get("last-event-id", "")
        stream = told(watching, int(seen) if seen.isdecimal() else NEW, bench.stopping)
        return StreamingResponse(stream, media_type="text/event-stream", headers={"cache-control": "no-store"})

    return Route("/machines/{machine}/live/events", events, methods=["GET"])


async def told(watching: Watching, seen: int, stopping: threading.Event) -> AsyncIterator[str]:
    """Return events until the watch is over or the bench stops."""
    loop, woken = asyncio.get_running_loop(), asyncio.Event()
    forget, quiet_s = watching.wake_by(lambda: _call(loop, woken)), 0.0
    try:
        while not stopping.is_set():
            woken.clear()
            for text, number in _next(watching, seen):
                yield text
                seen = number
            if not watching.running and watching.since(seen) == []:
                return
            try:
                await asyncio.wait_for(woken.wait(), LOOK_EVERY_S)
                quiet_s = 0.0
            except TimeoutError:
                quiet_s += LOOK_EVERY_S
            if quiet_s >= BREATHE_EVERY_S:
                quiet_s = 0.0
                yield ": \n\n"
    finally:
        forget()


def _call(loop: asyncio.AbstractEventLoop, woken: asyncio.Event) -> None:
    """Wake the stream from the thread that hears the watch; the loop may be closed already."""
    if not loop.is_closed():
        loop.call_soon_threadsafe(woken.set)


def _next(watching: Watching, seen: int) -> Iterator[tuple[str, int]]:
    """Return what has come since, each with its number."""
    events = None if seen == NEW else watching.since(seen)
    if events is None:
        if seen != NEW:
            watching.skip()
        picture = watching.document()
        yield f"id: {picture['event']}\nevent: picture\ndata: {json.dumps(picture)}\n\n", picture["event"]
        return
    for number, line in events:
        yield f"id: {number}\ndata: {json.dumps(line)}\n\n", number
