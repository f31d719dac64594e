"""Which files of the rooms stand at the rim, where the world is touched; every other file of them is pure.

Pure: no file, clock, chance, screen, library of instruments or database, neither by itself nor by what it imports.
A file that begins to touch the world fails the test until somebody decides that it belongs in this list.
"""

import ast
import functools
from pathlib import Path

SOURCE = Path(__file__).parents[2] / "src" / "tapewright"
CALLS = {"open", "print", "input", "exec", "eval"}
LIBRARIES = {
    "sqlite3", "socket", "subprocess", "urllib", "serial", "pyvisa", "sounddevice", "PIL", "psycopg", "click", "rich",
    "argparse", "pathlib", "os", "logging", "time", "random", "typst", "sqlalchemy",
}  # fmt: skip
#: room -> its files at the rim
RIM: dict[str, str] = {
    "number": "",
    "alphabets": "",
    "reference": "",
    "message": "",
    "recordings": """
        files/csv_file files/csv_rows files/formats files/npy_file files/npz_file files/on_disk
        files/raw_file files/read files/samples files/sound_file files/stamps_file files/tables
        files/vcd_file files/wav_file files/waveform
        live/asked live/control_line live/growing_file live/oscilloscope live/recorder
        live/scope_profile live/serial_text live/sound_card live/source live/sources live/stamped
    """,
    "line": """
        command from_settings json live/soak_command live/soak_files live/soak_run live/watch
        live/watch_command live/watch_display live/watch_json live/watch_screen live/watch_text
        live/watch_tone live/watch_trial live/watch_voice plot read settings text
    """,
    "tape": """
        command overlay plot read
    """,
    "coil": """
        command drive/file drive/sections from_settings
    """,
    "gauges": """
        command files/journal_file files/on_disk form measure trim/measure
    """,
    "motor": """
        command speed_command supplies/keeper supplies/kept_supply supplies/profile supplies/scpi_supply supply_command
        train_command
    """,
    "margin": """
        command files judges
    """,
    "advisor": """
        command files from_book models/__init__
    """,
    "practice": """
        tape_command
    """,
    "proof": """
        command proof_pages prove_machine raw_pictures seal
    """,
    "pictures": """
        decode write
    """,
    "witnesses": """
        command measure
    """,
}


@functools.cache
def touching_the_world() -> set[str]:
    """Return the files (relative, without .py) that touch the world, by themselves or by what they import."""
    files = {path.relative_to(SOURCE).with_suffix("").as_posix(): path for path in SOURCE.rglob("*.py")}
    trees = {name: ast.parse(path.read_text("utf-8")) for name, path in files.items()}
    world = {name for name, tree in trees.items() if _touches(tree)}
    imports = {name: _imported(tree, files) for name, tree in trees.items()}
    while more := {name for name in files if name not in world and imports[name] & world}:
        world |= more
    return world


def _touches(tree: ast.Module) -> bool:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
            return True
        if isinstance(node, ast.Import) and {alias.name.split(".")[0] for alias in node.names} & LIBRARIES:
            return True
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] in LIBRARIES:
            return True
    return False


def _imported(tree: ast.Module, files: dict[str, Path]) -> set[str]:
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("tapewright."):
            place = node.module.removeprefix("tapewright.").replace(".", "/")
            for alias in node.names:
                names = (f"{place}/{alias.name}", place, f"{place}/__init__")
                found |= set([name for name in names if name in files][:1])
    return found
