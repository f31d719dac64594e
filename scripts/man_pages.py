"""Write the manual pages from the program's own help: `python scripts/man_pages.py FOLDER`.

FOLDER is a `man1` folder, for example ~/.local/share/man/man1; it is made if it is not there. One page for the program,
one for each command: `man tapewright`, `man tapewright-line-read`.
"""

import datetime
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from tapewright import __version__
from tapewright.terminal.run import tapewright

EXIT = (
    ("0", "done, and nothing is outside its limits"),
    ("1", "done; something is outside"),
    ("3", "done; something is not shown, and nothing is outside"),
    ("2", "wrong use"),
    ("4", "input could not be read"),
    ("70", "a fault of the program itself"),
)
CAUTION = (
    "Tapewright advises. Your local codes and licensed practice come first wherever electricity, moving parts, "
    "solvents or old materials can hurt somebody. It never calls a machine safe."
)


def main(arguments: list[str]) -> int:
    """Write every page into the folder that is named."""
    if len(arguments) != 1:
        print(__doc__)
        return 2
    folder = Path(arguments[0]).expanduser()
    folder.mkdir(parents=True, exist_ok=True)
    count = 0
    for name, page in pages("tapewright", tapewright, None):
        (folder / f"{name}.1").write_text(page, encoding="utf-8")
        count += 1
    print(f"wrote {count} pages into {folder}")
    return 0


def pages(name: str, command: click.Command, parent: click.Context | None) -> Iterator[tuple[str, str]]:
    """Return name and text of the page of a command, and of all below it."""
    context = click.Context(command, info_name=name, parent=parent, **command.context_settings)
    yield context.command_path.replace(" ", "-"), page(command, context)
    if isinstance(command, click.Group):
        for child in command.list_commands(context):
            found = command.get_command(context, child)
            if found is not None:
                yield from pages(child, found, context)


def page(command: click.Command, context: click.Context) -> str:
    """Return one page in the words of man(7)."""
    full = context.command_path.replace(" ", "-")
    usage = " ".join(command.collect_usage_pieces(context))
    first, _, rest = (command.help or "").partition("\n\n")
    today = datetime.datetime.now(datetime.UTC).date()
    lines = [
        f'.TH "{_plain(full.upper())}" "1" "{today}" "Tapewright {__version__}" "Tapewright"',
        ".SH NAME",
        f"{_plain(full)} \\- {_text(first).rstrip('.')}",
        ".SH SYNOPSIS",
        f".B {_plain(context.command_path)}",
        _text(usage),
        ".SH DESCRIPTION",
        *_paragraphs([first, *rest.split("\n\n")]),
        *_list("OPTIONS", _options(command, context)),
        *_list("COMMANDS", _commands(command, context)),
        *_list("EXIT STATUS", EXIT),
        ".SH CAUTION",
        _text(CAUTION),
    ]
    parent = context.parent.command_path.replace(" ", "-") if context.parent else None
    below = [f"{full}-{name}" for name, _ in _commands(command, context)]
    if see := [*([parent] if parent else []), *below]:
        lines += [".SH SEE ALSO", ",\n".join(f"\\fB{_plain(name)}\\fR(1)" for name in see)]
    return "\n".join(lines) + "\n"


def _options(command: click.Command, context: click.Context) -> list[tuple[str, str]]:
    options = (parameter for parameter in command.get_params(context) if isinstance(parameter, click.Option))
    records = (option.get_help_record(context) for option in options)
    return [record for record in records if record is not None]


def _commands(command: click.Command, context: click.Context) -> list[tuple[str, str]]:
    if not isinstance(command, click.Group):
        return []
    found = ((name, command.get_command(context, name)) for name in command.list_commands(context))
    return [(name, child.get_short_help_str(200)) for name, child in found if child is not None]


def _list(title: str, items: Sequence[tuple[str, str]]) -> list[str]:
    lines = [line for term, says in items for line in (".TP", f".B {_text(term)}", _text(says) or "\\&")]
    return [f".SH {title}", *lines] if lines else []


def _paragraphs(paragraphs: list[str]) -> Iterator[str]:
    """Return paragraphs; one marked with a backspace keeps its lines, as in the program's help."""
    first = True
    for paragraph in (text.strip("\n ") for text in paragraphs):
        if not paragraph:
            continue
        if not first:
            yield ".PP"
        first = False
        if paragraph.startswith("\b"):
            yield from (".nf", *(_text(line) for line in paragraph.splitlines()[1:]), ".fi")
        else:
            yield _text(paragraph)


def _text(text: str) -> str:
    """Return text on one line in which no character is taken for a request."""
    joined = re.sub(r"\s+", " ", text).strip()
    return re.sub(r"^([.'])", r"\\&\1", _plain(joined))


def _plain(text: str) -> str:
    return text.replace("\\", "\\e").replace("-", "\\-")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
