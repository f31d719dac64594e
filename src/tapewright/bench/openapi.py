"""The OpenAPI document of the bench: every twin and every write, made from the registry of pages (OpenAPI 3.1).

What a twin holds stands in twins/NAME.json, a JSON Schema; what several of them hold, in twins/shared.json.
"""

import json
import re
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from tapewright import __version__
from tapewright.bench.page import Page
from tapewright.bench.page_routes import TWIN, twin_path

PATH = "/openapi.json"
TWINS, SHARED = Path(__file__).parent / "twins", "shared"
ABOUT = (
    "Every page of the bench has a JSON twin at the same path with .json. "
    "A write brings the cookie of a page and, in x-bench-key, the key that stands in it."
)
REFUSED = {
    "description": "Why not, in words.",
    "content": {
        "application/json": {
            "schema": {"type": "object", "required": ["says"], "properties": {"says": {"type": "string"}}}
        }
    },
}
WRITTEN = {
    "type": "object",
    "required": ["written", "see", "says"],
    "properties": {
        "written": {"type": "array", "items": {"type": "string"}},
        "see": {"type": "string"},
        "says": {"type": "string"},
    },
}
NOT_LET_IN = {"description": "Not let in, in words."}


def openapi_route(pages: Sequence[Page]) -> Route:
    """Return the route of the document."""

    @cache  # read when somebody asks: the first page is not to wait for it
    def document() -> dict[str, object]:
        return openapi(pages)

    async def answer(_: Request) -> Response:
        return JSONResponse(document())

    return Route(PATH, answer)


def openapi(pages: Sequence[Page]) -> dict[str, object]:
    """Return the document."""
    paths: dict[str, object] = {}
    for page in pages:
        paths[twin_path(page.path)] = {"get": _read(page)}
        for action in page.actions:
            paths[f"{page.path.rstrip('/')}/{action}{TWIN}"] = {"post": _write(page, action)}
    return {
        "openapi": "3.1.0",
        "info": {"title": "Tapewright bench", "version": __version__, "description": ABOUT},
        "paths": paths,
        "components": {"schemas": schemas(pages)},
    }


def schemas(pages: Sequence[Page]) -> dict[str, object]:
    """Return the schema of each twin by its name, and of what several twins hold."""
    shared: dict[str, object] = _schema(SHARED)
    return shared | {_twin_name(page): _schema(page.name) for page in pages}


def _schema(name: str) -> Any:
    return json.loads((TWINS / f"{name}.json").read_text(encoding="utf-8"))


def _twin_name(page: Page) -> str:
    return f"{page.name}-page"


def _read(page: Page) -> dict[str, object]:
    schema = {"$ref": f"#/components/schemas/{_twin_name(page)}"}
    return {
        "summary": page.says,
        "operationId": page.name,
        "parameters": _parameters(page.path),
        "responses": {
            "200": {"description": page.says, "content": {"application/json": {"schema": schema}}},
            "400": REFUSED,
            "404": REFUSED,
            "403": NOT_LET_IN,
        },
    }


def _write(page: Page, action: str) -> dict[str, object]:
    fields = {"type": "object", "additionalProperties": {"type": "string"}}
    return {
        "summary": f"{page.says} Write: {action}.",
        "operationId": f"{page.name}-{action}",
        "parameters": [
            *_parameters(page.path),
            {"name": "x-bench-key", "in": "header", "required": True, "schema": {"type": "string"}},
        ],
        "requestBody": {"content": {"application/x-www-form-urlencoded": {"schema": fields}}},
        "responses": {
            "200": {"description": "Written.", "content": {"application/json": {"schema": WRITTEN}}},
            "400": REFUSED,
            "403": REFUSED,
            "404": REFUSED,
            "413": REFUSED,
            "422": REFUSED,
        },
    }


def _parameters(path: str) -> list[dict[str, object]]:
    return [
        {"name": name, "in": "path", "required": True, "schema": {"type": "string", "minLength": 1}}
        for name in re.findall(r"{(\w+)}", path)
    ]
