"""Quick enough: the first page waits for nothing heavy, and a page that was seen before takes well under 200 ms."""

import subprocess
import sys
import time

HEAVY = {"numpy", "scipy", "cv2", "PIL", "networkx", "rich", "typst", "alembic"}


def test_the_first_page_loads_nothing_heavy():
    script = (
        "import sys; import tapewright.web.serve;"
        f"loaded = sorted({HEAVY!r} & set(sys.modules)); sys.exit(' '.join(loaded) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 0, f"the bench loads {done.stderr} before its first page"


def test_a_page_change_takes_well_under_200_ms(caller, petrel):
    """Processor time, which other work on the machine does not change as it does the clock."""
    for page in ("", "/questions", "/gauges", "/compare", "/proof"):
        took = []
        for _ in range(4):
            began = time.process_time()
            assert caller.get(f"/machines/{petrel}{page}").status_code == 200
            took.append(time.process_time() - began)
        assert min(took[1:]) < 0.2, page
