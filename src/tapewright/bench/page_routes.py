"""The routes of one page: the page, its twin, its actions, its data. Answers are worked out off the event loop."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from urllib.parse import parse_qsl, quote, urlencode, urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from tapewright.bench.drawing import SAYS_COOKIE, Drawing, units_of
from tapewright.bench.from_book import heading
from tapewright.bench.page import Asking, Done, Page, Said
from tapewright.bench.trust.keys import FIELD, HEADER, brings_cookie, is_form_key
from tapewright.bench.working import NotYetError
from tapewright.errors import TapewrightError

TWIN = ".json"
#: header: the id under which a browser keeps an entry until it is answered
ONCE = "x-bench-once"
#: A form of the bench is short; files do not come by forms of pages but by the arrivals.
MOST_FIELDS, LONGEST_FORM_BYTES = 500, 1_000_000


def page_routes(page: Page, drawing: Drawing) -> Iterator[Route]:
    """Return the routes of a page."""
    # the twin first: "{machine}" would match "petrel.json" too
    yield Route(twin_path(page.path), _twin(page, drawing), methods=["GET"], name=f"{page.name} twin")
    yield Route(page.path, _shown(page, drawing), methods=["GET"], name=page.name)
    for action, act in page.actions.items():
        path = f"{page.path.rstrip('/')}/{action}"
        for each in (path, path + TWIN):
            yield Route(each, _done(page, act, drawing), methods=["POST"], name=f"{page.name} {action}")
    for suffix, data in page.data.items():
        yield Route(f"{page.path.rstrip('/')}/{suffix}", _data(data, drawing), methods=["GET"])


def twin_path(path: str) -> str:
    """Return the path of the twin; the twin of the first page is /shelf.json."""
    return path + TWIN if path != "/" else "/shelf.json"


def asking(request: Request, drawing: Drawing) -> Asking:
    """Return what is asked, in the words of a page."""
    where = {name: str(value) for name, value in request.path_params.items()}
    return Asking(drawing.bench, where, dict(request.query_params), units_of(request))


def _shown(page: Page, drawing: Drawing) -> Callable[[Request], object]:
    bench = drawing.bench

    def work(request: Request) -> Response:
        asked = asking(request, drawing)
        try:
            document = bench.working.document(_whole(request.url.path, asked), lambda: page.answer(asked))
        except NotYetError:
            about = heading(bench.book.machine(asked.where["machine"])) if "machine" in asked.where else None
            return drawing.soon(request, page, about)
        finally:
            bench.shown.set()
        return drawing.page(request, page, document)

    return _off_the_loop(work)


def _twin(page: Page, drawing: Drawing) -> Callable[[Request], object]:
    def work(request: Request) -> Response:
        asked = asking(request, drawing)
        path = request.url.path.removesuffix(TWIN)
        document = drawing.bench.working.begun(_whole(path, asked)) or page.answer(asked)
        return JSONResponse({"format": page.format, **document}, headers={"cache-control": "no-store"})

    return _off_the_loop(work)


def _whole(path: str, asked: Asking) -> str:
    """Return all that a page's document depends on, as one text."""
    return f"{path}?{urlencode(sorted(asked.query.items()))}#{asked.units}"


def _data(data: Callable[[Asking], Response], drawing: Drawing) -> Callable[[Request], object]:
    return _off_the_loop(lambda request: data(asking(request, drawing)))


def _off_the_loop(work: Callable[[Request], Response]) -> Callable[[Request], object]:
    async def answer(request: Request) -> Response:
        return await run_in_threadpool(work, request)

    return answer


def _done(page: Page, act: Callable[[Said], Done], drawing: Drawing) -> Callable[[Request], object]:
    async def answer(request: Request) -> Response:
        fields = await read_form(request, drawing)
        return await run_in_threadpool(_act, request, page, act, fields, drawing)

    return answer


def _act(
    request: Request, page: Page, act: Callable[[Said], Done], fields: dict[str, str], drawing: Drawing
) -> Response:
    """Do what was sent; a refusal stands on the very page it was sent from, with what was typed."""
    said = Said(asking(request, drawing), fields)
    path = page.path
    for name, value in said.asking.where.items():
        path = path.replace(f"{{{name}}}", quote(value))
    try:
        done = drawing.bench.once.do(request.headers.get(ONCE, ""), path, lambda: act(said))
    except TapewrightError as refusal:
        if request.url.path.endswith(TWIN) or request.method != "POST":
            raise
        before = replace(said.asking, query=_asked_before(request, path))
        more = {"page": page, "doc": page.answer(before), "here": path, "refused": refused(str(refusal), fields)}
        return drawing.template(request, f"{page.name}.html", more, 422)
    drawing.bench.working.forget()
    return say_done(request, done)


def refused(says: str, fields: Mapping[str, str]) -> dict[str, object]:
    """Return a refusal as the page shows it: why, and what was typed."""
    return {"says": says, "typed": [text for text in fields.values() if text.strip()]}


def _asked_before(request: Request, path: str) -> dict[str, str]:
    """Return the query of the page that an entry was sent from, when it was this page."""
    parts = urlsplit(request.headers.get("referer", ""))
    return dict(parse_qsl(parts.query)) if parts.path == path else {}


async def read_form(request: Request, drawing: Drawing) -> dict[str, str]:
    """Return the fields of a form; refuse one that does not bring both keys.

    Raises:
        HTTPException: 403 without the keys, 413 when it is too long.
    """
    if not brings_cookie(request, drawing.bench.keys):
        raise HTTPException(403, "This page is from before the bench was started. Load it again, then write.")
    if int(request.headers.get("content-length") or 0) > LONGEST_FORM_BYTES:
        raise HTTPException(413, f"A form may have at most {LONGEST_FORM_BYTES} bytes.")
    async with request.form(max_files=0, max_fields=MOST_FIELDS, max_part_size=LONGEST_FORM_BYTES) as form:
        fields = {name: value for name, value in form.items() if isinstance(value, str)}
    if not is_form_key(request.headers.get(HEADER) or fields.pop(FIELD, ""), drawing.bench.keys):
        raise HTTPException(403, "This did not come from a page of the bench. Load the page again, then write.")
    fields.pop(FIELD, None)
    return fields


def say_done(request: Request, done: Done) -> Response:
    """Send the browser to the page that shows it; give programs what was written."""
    if request.url.path.endswith(TWIN):
        return JSONResponse({"written": list(done.written), "see": done.see, "says": done.says})
    answer = RedirectResponse(done.see, 303)
    if done.says:
        answer.set_cookie(SAYS_COOKIE, quote(done.says), max_age=60, httponly=True, samesite="strict")
    return answer
