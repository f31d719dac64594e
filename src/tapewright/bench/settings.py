"""What this browser prefers: metric or inch. It is kept in a cookie, not in the book."""

from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from tapewright.bench.bench import Bench
from tapewright.bench.drawing import UNITS_COOKIE

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
