"""Cautions before a step that can hurt: shown first, and acknowledged before anything happens."""

import sys
from collections.abc import Sequence
from typing import Any

import click

from tapewright.errors import WrongUseError

WORD = "yes"


def acknowledged_option(command: Any) -> Any:
    """Add `--acknowledged` to a click command."""
    told = "You have read the cautions, and they are seen to."
    return click.option("--acknowledged", is_flag=True, help=told)(command)


def acknowledge(cautions: Sequence[str], *, acknowledged: bool) -> None:
    """Show the cautions on standard error and wait for "yes".

    Raises:
        WrongUseError: when nobody can answer and `--acknowledged` was not given.
        click.Abort: when the answer is anything else.
    """
    click.echo("Before anything is switched on", err=True)
    for caution in cautions:
        click.echo(f"  {caution}", err=True)
    if acknowledged:
        return
    if not sys.stdin.isatty():
        raise WrongUseError("Read the cautions above, see to them, then give --acknowledged.")
    said = click.prompt(f'Seen to? Type "{WORD}" to go on', err=True, default="", show_default=False)
    if said.strip().lower() != WORD:
        raise click.Abort


def remind(spec: str, cautions: Sequence[str], *, is_file: bool) -> None:
    """Show cautions on standard error before a machine is listened to; not for a practice machine or a file."""
    if not spec.startswith("practice") and not is_file:
        for caution in cautions:
            click.echo(f"! {caution}", err=True)
