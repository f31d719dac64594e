"""The page that asks a stranger of the local network for the pairing code."""

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from tapewright.bench.drawing import Drawing
from tapewright.bench.trust.gate import PASS
from tapewright.bench.trust.sharing import Sharing

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
