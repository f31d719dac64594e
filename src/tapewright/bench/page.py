"""What a page is. A page is one Python file, one template and, where it moves, one script module.

    GET  path                 answer(asking) --document--> templates/NAME.html --> the page
    GET  path.json            answer(asking) --document--> the twin: the same document as JSON
    POST path/ACTION          act(said) --> Done: what was written, and where to look; .json gives that as JSON
    GET  path/SUFFIX          data(asking) --> bytes or a picture (a trace, a tape's pixels)

The page is drawn from the very document that the twin gives, so that they cannot disagree.
To add a page: its file in `pages/`, its template in `templates/`, one line in `pages/__init__.py`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from starlette.responses import Response

from tapewright.bench.bench import Bench
from tapewright.bench.once import Done

Units = Literal["metric", "inch"]
Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Asking:
    """What somebody asks of a page.

    Attributes:
        bench: the book, the jobs and all else that pages share.
        where: the named parts of the path, for example {"machine": "..."}.
        query: what stands after the question mark.
        units: metric or inch, as chosen on the page.
    """

    bench: Bench
    where: Mapping[str, str]
    query: Mapping[str, str]
    units: Units = "metric"


@dataclass(frozen=True, slots=True)
class Said:
    """What somebody sends from a page.

    Attributes:
        asking: where it was sent from.
        fields: the form's fields; one value a name.
    """

    asking: Asking
    fields: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the bench.

    Attributes:
        name: its name: the template is NAME.html, the twin's format "tapewright/bench/NAME/1".
        path: where it is, for example "/machines/{machine}/line/{entry}".
        answer: gives the document.
        says: one sentence for the OpenAPI document.
        menu: the word in the navigation; empty for a page that is not in it.
        of: whether it belongs to the bench or to one machine.
        module: its script in assets/, without ".js"; empty for none.
        actions: name -> what a form sent to path/NAME does.
        data: suffix -> what else is below the page: bytes for its script, a picture.
    """

    name: str
    path: str
    answer: Callable[[Asking], Document]
    says: str
    menu: str = ""
    of: Literal["bench", "machine"] = "machine"
    module: str = ""
    actions: Mapping[str, Callable[[Said], Done]] = field(default_factory=dict)
    data: Mapping[str, Callable[[Asking], Response]] = field(default_factory=dict)

    @property
    def format(self) -> str:
        """The name of the twin's format."""
        return f"tapewright/bench/{self.name}/1"


__all__ = ["Asking", "Document", "Done", "Page", "Said", "Units"]
