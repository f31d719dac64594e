"""The bench as an ASGI application: pages, their twins, writes, uploads, jobs, events, all behind the gate."""

from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from tapewright.bench.arrivals import arrivals_route
from tapewright.bench.bench import Bench
from tapewright.bench.drawing import Drawing
from tapewright.bench.live.stream import stream_route
from tapewright.bench.openapi import openapi_route
from tapewright.bench.page import Page
from tapewright.bench.page_routes import page_routes
from tapewright.bench.pages import PAGES
from tapewright.bench.routes import PAIR, handlers, job_routes, pair_route, pairing_page, settings_route
from tapewright.bench.trust.gate import Gate
from tapewright.bench.trust.sharing import Sharing

ASSETS = Path(__file__).parent / "assets"


def application(
    bench: Bench, *, sharing: Sharing | None = None, pages: Sequence[Page] = PAGES, drawing: Drawing | None = None
) -> ASGIApp:
    """Return the application.

    Args:
        bench: the book, the jobs, the keys.
        sharing: set when other machines of the local network may be paired.
        pages: the pages it has.
        drawing: what draws them; None for one of its own.
    """
    drawing = drawing or Drawing(bench, pages)

    @asynccontextmanager
    async def while_running(_: Starlette) -> AsyncIterator[None]:
        yield
        bench.watches.close()
        bench.jobs.close()
        bench.traces.close()

    routes: list[BaseRoute] = [
        Mount("/assets", StaticFiles(directory=ASSETS), name="assets"),
        openapi_route(pages),
        settings_route(bench),
        arrivals_route(bench),
        *job_routes(drawing),
        stream_route(bench),
        *([pair_route(drawing, sharing)] if sharing else []),
        *(route for page in pages for route in page_routes(page, drawing)),
    ]
    gate = Middleware(Gate, sharing=sharing, pairing=pairing_page(drawing))
    return Starlette(routes=routes, middleware=[gate], exception_handlers=handlers(drawing), lifespan=while_running)


__all__ = ["ASSETS", "PAIR", "Route", "application"]
