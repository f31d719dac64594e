"""Write the JSON Schemas of typed documents from their types: `python scripts/generate_schemas.py`.

With `--check` nothing is written; the exit code says whether the files are what they would be.
"""

import json
import sys
from pathlib import Path

from tapewright.advisor.document import Diagnosis
from tapewright.coil.document import Coil, DrivePlan
from tapewright.furniture.document import Document, json_schema
from tapewright.gauges.document import CheckedSheet, Trim
from tapewright.line.document import Line
from tapewright.line.live.soak_document import SoakSoFar
from tapewright.message.document import Errors
from tapewright.proof.document import Plan, ProofDocument
from tapewright.tape.document import JoinedTape, Tape

SCHEMAS = Path(__file__).resolve().parents[1] / "docs" / "reference" / "schemas"
#: file -> the type of its document. To add one, add a line.
DOCUMENTS: dict[str, type[Document]] = {
    "coil": Coil,
    "drive": DrivePlan,
    "diagnosis": Diagnosis,
    "errors": Errors,
    "joined-tape": JoinedTape,
    "line": Line,
    "plan": Plan,
    "proof": ProofDocument,
    "sheet": CheckedSheet,
    "soak": SoakSoFar,
    "tape": Tape,
    "trim": Trim,
}


def main(arguments: list[str]) -> int:
    """Write the files, or compare them."""
    stale = []
    for name, kind in DOCUMENTS.items():
        file = SCHEMAS / f"{name}.json"
        text = json.dumps(json_schema(kind), indent=1, ensure_ascii=False) + "\n"
        if "--check" not in arguments:
            file.write_text(text, encoding="utf-8")
        elif not file.exists() or file.read_text(encoding="utf-8") != text:
            stale.append(file.name)
    if stale:
        print(f"stale: {', '.join(stale)}")
    return 1 if stale else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
