"""The pages of findings and causes are those of the machine models."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_findings_and_causes_pages_are_fresh():
    done = subprocess.run(
        [sys.executable, str(ROOT / "scripts" / "generate_findings.py"), "--check"], capture_output=True, text=True
    )
    assert done.returncode == 0, f"{done.stdout}{done.stderr} run: python scripts/generate_findings.py"
