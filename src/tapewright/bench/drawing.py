"""From a document to a page: the templates, and what every page has around its own part."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response

from tapewright.bench import words
from tapewright.bench.bench import Bench
from tapewright.bench.from_book import NEWEST, last_entries
from tapewright.bench.page import Page, Units
from tapewright.bench.trust.keys import FIELD, cookie_name

TEMPLATES = Path(__file__).parent / "templates"
UNITS_COOKIE, SAYS_COOKIE = "bench-units", "bench-says"


class Drawing:
    """Draws pages. Everything a document says is shown as text, never as markup."""

    def __init__(self, bench: Bench, pages: Sequence[Page]) -> None:
        """Read the templates when they are first used."""
        self.bench, self.pages = bench, pages
        self.templates = Environment(
            loader=FileSystemLoader(TEMPLATES),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )
        self.templates.filters.update(words.FILTERS)
        self.templates.globals["file_kinds"] = _file_kinds

    def page(self, request: Request, page: Page, document: Mapping[str, Any]) -> Response:
        """Draw a page from its document."""
        return self.template(request, f"{page.name}.html", {"page": page, "doc": document})

    def soon(self, request: Request, page: Page, machine: Mapping[str, Any] | None) -> Response:
        """Draw the frame of a page whose document is still being worked out; it comes again by itself."""
        frame = {"page": page, "doc": {"machine": machine}, "last_entries": []}  # it must not wait for the book
        return self.template(request, "soon.html", frame)

    def template(self, request: Request, name: str, more: Mapping[str, Any], status: int = 200) -> Response:
        """Draw a template with the frame around it; hand the browser its keys."""
        machine = more["doc"].get("machine") if isinstance(more.get("doc"), Mapping) else None
        around = {
            "machine": machine,
            "menus": self._menus(machine),
            "units": units_of(request),
            "here": request.url.path,
            "query": request.url.query,
            "form_key": self.bench.keys.form,
            "form_key_field": FIELD,
            "says": unquote(request.cookies.get(SAYS_COOKIE, "")),
            "jobs": self._jobs(machine),
            "page": None,
            "refused": None,
        }
        if "last_entries" not in more:
            around["last_entries"] = self._last_entries(machine)
        html = self.templates.get_template(name).render(around | dict(more))
        answer = HTMLResponse(html, status, headers={"cache-control": "no-store"})
        answer.set_cookie(cookie_name(request), self.bench.keys.cookie, httponly=True, samesite="strict")
        if around["says"]:
            answer.delete_cookie(SAYS_COOKIE)
        return answer

    def _menus(self, machine: Mapping[str, Any] | None) -> dict[str, list[tuple[str, str, str]]]:
        """Return the navigation: for the bench and for the machine, (name, word, path)."""
        out: dict[str, list[tuple[str, str, str]]] = {"bench": [], "machine": []}
        for page in self.pages:
            if page.menu and page.of == "bench":
                out["bench"].append((page.name, page.menu, page.path))
            elif page.menu and machine is not None:
                path = page.path.replace("{machine}", quote(str(machine["key"]))).replace("{entry}", NEWEST)
                out["machine"].append((page.name, page.menu, path))
        return out

    def _last_entries(self, machine: Mapping[str, Any] | None) -> list[dict[str, str]]:
        """Return the last entries that can be taken back, newest first: at hand on every page of a machine."""
        return [] if machine is None else last_entries(self.bench.book, str(machine["key"]))

    def _jobs(self, machine: Mapping[str, Any] | None) -> list[Any]:
        """Return what goes on in the background for this machine; a reload must find it again."""
        if machine is None:
            return []
        return [job for job in self.bench.jobs.of(str(machine["key"])) if job.state in ("waiting", "running")]


def units_of(request: Request) -> Units:
    """Return metric or inch, as chosen on the page."""
    return "inch" if request.cookies.get(UNITS_COOKIE) == "inch" else "metric"


def _file_kinds() -> str:
    from tapewright.bench.recognise import file_kinds  # loads the formats: not before a page needs them

    return "; ".join(file_kinds())
