"""Write docs/reference/commands.md from the program's own help: `python scripts/generate_reference.py`.

With `--check` nothing is written; the exit code says whether the page is what it would be.
"""

import os
import sys
from pathlib import Path

import click

os.environ["COLUMNS"] = "100"

from tapewright.terminal.run import tapewright

PAGE = Path(__file__).resolve().parents[1] / "docs" / "reference" / "commands.md"
HEAD = """# Commands

Generated from the program's own help by `python scripts/generate_reference.py`; do not edit by hand.

Exit codes everywhere: 0 done and nothing outside its limits, 1 something is outside, 3 something is not shown,
2 wrong use, 4 input could not be read, 70 a fault of the program itself. `--json` writes one JSON document to
standard output; its schema is in [schemas](schemas/).
"""


def main(arguments: list[str]) -> int:
    """Write the page, or compare it."""
    page = HEAD + "".join(sections("tapewright", tapewright, None))
    if "--check" in arguments:
        return 0 if PAGE.read_text(encoding="utf-8") == page else 1
    PAGE.write_text(page, encoding="utf-8")
    print("wrote", PAGE.name)
    return 0


def sections(name: str, command: click.Command, parent: click.Context | None) -> list[str]:
    """Return the help of a command and of all below it."""
    settings = dict(command.context_settings) | {"max_content_width": 100, "terminal_width": 100}
    context = click.Context(command, info_name=name, parent=parent, **settings)
    text = command.get_help(context)
    out = [f"\n## {context.command_path}\n\n```\n{text}\n```\n"]
    if isinstance(command, click.Group):
        for child in command.list_commands(context):
            found = command.get_command(context, child)
            if found is not None:
                out += sections(child, found, context)
    return out


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
