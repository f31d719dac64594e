"""The generated reference is what the program says, and every command is told of in a page."""

import subprocess
import sys
from pathlib import Path

import click
import pytest

from tapewright.terminal.run import tapewright

ROOT = Path(__file__).parents[2]


def leaves(name, command, context=None):
    here = click.Context(command, info_name=name, parent=context, **command.context_settings)
    if not isinstance(command, click.Group):
        return [here.command_path]
    children = [(child, command.get_command(here, child)) for child in command.list_commands(here)]
    return [leaf for child, found in children for leaf in leaves(child, found, here)]


def test_commands_page_is_current():
    script = ROOT / "scripts" / "generate_reference.py"
    done = subprocess.run([sys.executable, str(script), "--check"], cwd=ROOT, check=False)
    assert done.returncode == 0, "docs/reference/commands.md is stale: run python scripts/generate_reference.py"


def test_schemas_are_those_of_the_types():
    script = ROOT / "scripts" / "generate_schemas.py"
    done = subprocess.run([sys.executable, str(script), "--check"], cwd=ROOT, check=False)
    assert done.returncode == 0, "docs/reference/schemas is stale: run python scripts/generate_schemas.py"


@pytest.mark.parametrize("command", [leaf for leaf in leaves("tapewright", tapewright) if leaf != "tapewright demo"])
def test_every_command_is_told_of_in_a_page_by_hand(command):
    pages = [p for p in (ROOT / "docs").rglob("*.md") if p.name != "commands.md"]
    assert any(command in page.read_text(encoding="utf-8") for page in pages), f"no page shows {command}"


def options(group, path=()):
    """Return every option of every command: (command, option, its help)."""
    for name in group.list_commands(click.Context(group)):
        command = group.get_command(click.Context(group), name)
        if isinstance(command, click.Group):
            yield from options(command, (*path, name))
        else:
            given = [option for option in command.params if isinstance(option, click.Option)]
            yield from ((" ".join((*path, name)), option.opts[0], option.help) for option in given)


def test_every_option_says_what_it_is_for():
    assert [(command, option) for command, option, says in options(tapewright) if not says] == []
