"""When something cannot be done: the page says what was expected, what was found, and what to do; programs get JSON."""

from collections.abc import Awaitable, Callable
from typing import Any

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from tapewright.bench.drawing import Drawing
from tapewright.bench.page_routes import TWIN
from tapewright.bench.trust.keys import HEADER
from tapewright.errors import TapewrightError, WrongUseError

NOT_FOUND = "There is nothing at this address. Perhaps the machine was named otherwise, or the line is in another book."
TITLES = {
    400: "That cannot be done", 403: "Not let in", 404: "Not on this bench", 405: "Not that way",
    413: "Too large", 415: "Not a kind that can be read", 422: "That could not be taken", 500: "The program stopped",
}  # fmt: skip
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
