"""Write all sample programs: ``python sample_programs/make.py [OUT_FOLDER]``.

The same bytes every time. Without a folder they go beside this file.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from faulty import Fault
from faulty_account import ACCOUNT
from faulty_midprint import MIDPRINT
from faulty_path import PATH
from faulty_print import PRINT, first_layers, heats
from faulty_shape import SHAPE
from faulty_text import TEXT
from programs import PROGRAMS


def faults() -> list[Fault]:
    """Return all faults, by name."""
    made = [make() for make in (*SHAPE, *PRINT, *TEXT, *MIDPRINT, *PATH, *ACCOUNT)] + heats() + first_layers()
    return sorted(made, key=lambda fault: fault.name)


def main(arguments: list[str]) -> int:
    """Write the good programs into a folder, and the faulty ones with their near misses below it."""
    folder = Path(arguments[0]) if arguments else Path(__file__).parent
    (folder / "faulty").mkdir(parents=True, exist_ok=True)
    for name, write in PROGRAMS.items():
        (folder / f"{name}.gcode").write_bytes(write().encode())
    expected = {}
    for fault in faults():
        files = fault.files()
        for file_name, content in files.items():
            (folder / "faulty" / file_name).write_bytes(content)
        expected[fault.name] = fault.expected(files)
    (folder / "faulty" / "EXPECTED.json").write_text(
        json.dumps(expected, indent=1) + "\n", encoding="utf-8", newline="\n"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
