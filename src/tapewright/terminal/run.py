"""Start the command line: load only the command that was asked for, and say no in one short paragraph.

Each noun is one file; it is imported only when it is used, so that `tapewright --help` stays quick.
"""

import errno
import os
import sys
from typing import Any

import click

from tapewright import __version__
from tapewright.book import record as book
from tapewright.errors import TapewrightError
from tapewright.furniture.command import lazy

#: noun -> (where its click command lives, one line of help). To add a noun, add a line.
NOUNS: dict[str, tuple[str, str]] = {
    "line": ("terminal.line:line", "Read a line signal; compose a test signal."),
    "sheet": ("gauges.command:sheet", "Gauge readings against a machine's sheet, and the order of adjustment."),
    "trim": ("gauges.command:trim", "The next move of the screws, from what the trials so far did."),
    "tape": ("terminal.tape:tape", "Read, draw and practise with punched tape."),
    "compare": ("witnesses.command:compare", "A line capture and a tape of one event: which side is at fault."),
    "drive": ("coil.command:drive", "Feed a magnet from a bench supply; read whether it moved."),
    "motor": ("motor.command:motor", "Gears, belts and motor speed; prove the speed; bring it in."),
    "diagnose": ("advisor.command:diagnose", "From all the evidence to the part at fault, and the next test."),
    "machine": ("terminal.machine:machine", "The machines of the book, and what is known of each."),
    "proof": ("proof.command:proof", "Check a proof without the book it was made from."),
    "book": ("terminal.book:book", "Carry the book to another bench, back it up, check it."),
    "practice": ("course.command:practice", "Find the fault of a practice machine, against the advisor."),
    "serve": ("terminal.serve:serve", "The bench: the page beside the machine."),
    "demo": ("terminal.demo:demo", "Run the whole job on the practice machine Petrel."),
}


@click.group(cls=lazy(NOUNS), context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110})
@click.version_option(__version__, prog_name="tapewright")
def tapewright() -> None:
    """Measure a start-stop teleprinter, keyboard transmitter or tape punch, and find the part at fault.

    Exit codes: 0 done and nothing outside its limits, 1 something is outside, 3 something is not
    shown, 2 wrong use, 4 input could not be read, 70 a fault of the program itself.
    """


def run(arguments: list[str]) -> int:
    """Run the command line with `arguments`; return the exit code. Never lets a known error show a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")
    try:
        result: Any = tapewright.main(args=arguments, obj=book, prog_name="tapewright", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except TapewrightError as error:
        click.echo(f"tapewright: {error}", err=True)
        return error.exit_code
    except click.ClickException as error:
        error.show()
        return 2
    except click.Abort:
        click.echo("tapewright: stopped.", err=True)
        return 130
    except BrokenPipeError:
        # the reader of our output has gone (for example `| head`): nothing left to say
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except (OSError, MemoryError) as error:
        click.echo(f"tapewright: {what_the_system_says(error)}", err=True)
        return 4
    except Exception as fault:
        click.echo(f"tapewright: {what_went_wrong(fault, arguments)}", err=True)
        return FAULT


def what_went_wrong(fault: Exception, arguments: list[str]) -> str:
    """Write the details of a fault of the program to a file of their own; return the paragraph that says so."""
    import platform
    import tempfile
    import traceback

    lines = [f"tapewright {__version__}, Python {platform.python_version()}, {platform.platform()}",
             f"arguments: {arguments!r}", "", *traceback.format_exception(fault)]  # fmt: skip
    try:
        with tempfile.NamedTemporaryFile("w", prefix="tapewright-fault-", suffix=".txt", delete=False,
                                         encoding="utf-8") as file:  # fmt: skip
            file.write("\n".join(lines))
        where = f"The details are in {file.name}; please send that file, and the input if you may, to the makers."
    except OSError:
        where = "The details could not be written: " + " ".join(traceback.format_exception_only(fault)).strip()
    return (f"this is a fault of the program ({type(fault).__name__}), not a finding about your machine. Nothing "
            f"was written into the book by what failed. {where}")  # fmt: skip


#: exit code of a fault of the program (EX_SOFTWARE of sysexits.h, from memory): never mistaken for a verdict
FAULT = 70
#: what the operating system refused -> what was expected and found, what to do
REFUSALS: dict[type[OSError], str] = {
    FileNotFoundError: "expected a file or folder of that name; found none. Check the name and the folder it is in.",
    IsADirectoryError: "expected a file; found a folder. Name the file in it.",
    NotADirectoryError: "expected a folder on the way there; found a file. Check the name.",
    PermissionError: "expected leave to open it; found none. Look at whose file it is, or choose another folder.",
}
NO_FOLDER = "expected a folder of that name; found none. Check the name, or make the folder first."


def what_the_system_says(error: OSError | MemoryError) -> str:
    """Say which file the operating system refused, what was expected and found, and what to do."""
    name = getattr(error, "filename", None) or "input or output"
    folder = os.path.dirname(name) if isinstance(name, str) else ""
    if isinstance(error, FileNotFoundError) and folder and not os.path.isdir(folder):
        return f"{folder}: {NO_FOLDER}"
    if getattr(error, "errno", None) == errno.ENOSPC:
        return f"{name}: expected room for what is written; found a full disk. Make room, or choose another folder."
    reason = getattr(error, "strerror", None) or str(error) or type(error).__name__
    said = next((text for kind, text in REFUSALS.items() if isinstance(error, kind)), f"{reason}.")
    return f"{name}: {said}"
