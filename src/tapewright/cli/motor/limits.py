"""`--within`: how far a speed may be out, and where that limit comes from."""

from typing import Any

import click

from tapewright.cli.parameters import Number
from tapewright.core.measurement import Limit, Source, Standing


def within_option(command: Any) -> Any:
    """Add `--within` to a click command."""
    told = "Your own limit for the speed, per cent either way. [default: 0.75, ITU-T S.3]"
    return click.option("--within", type=Number(1e-6, 50), metavar="P", help=told)(command)


def speed_limit(within_percent: float | None) -> Limit:
    """Give the owner's limit, or the one from the standard (from memory, and marked so)."""
    from tapewright.core.reference.itu_t_s3 import SPEED_ERROR

    if within_percent is None:
        return SPEED_ERROR
    return Limit("speed error", -within_percent, within_percent, "percent", Source("--within", "", Standing.OWNER))
