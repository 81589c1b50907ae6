"""``python -m tests.fuzz FOLDER [--count 5000]``: mutants of real programs through everything.

No traceback, no hang, bounded memory: each program is taken as it is and then damaged, and all is made of it that
console, paper and window show (`tests.everything.go_through`); anything but a `BeadlineError` is printed, and the
program kept for a second look.
"""

from __future__ import annotations

import argparse
import os
import resource
import tempfile
import time
import traceback
from datetime import datetime
from itertools import chain
from pathlib import Path

from tests.everything import go_through
from tests.mutate import mutants
from viewer import open_program
from viewer.errors import BeadlineError
from viewer.failures import RAISE

START = datetime(2026, 3, 2, 14, 30)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--count", type=int, default=5000)
    parser.add_argument("--largest", type=int, default=600_000, help="bytes; larger programs are cut to this")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    os.environ[RAISE] = "1"  # a check that fails of itself is a failure here
    files = sorted(options.folder.glob("*.gcode"))
    each = -(-options.count // len(files))
    done = refused = failed = 0
    slowest, which = 0.0, ""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "mutant.gcode"
        for number, file in enumerate(files):
            data = file.read_bytes()[: options.largest]
            whole = [("as it is", file.read_bytes())]
            for name, mutant in chain(whole, mutants(data, options.seed + number, each)):
                path.write_bytes(mutant)
                begin = time.perf_counter()
                try:
                    program = open_program(path)
                    go_through(program, START)
                except BeadlineError:
                    refused += 1
                except Exception:  # noqa: BLE001 - whatever else comes is what this program looks for
                    failed += 1
                    kept = Path(tempfile.gettempdir()) / f"beadline_mutant_{failed}.gcode"
                    kept.write_bytes(mutant)
                    print(f"{file.name} {name}: kept as {kept}")
                    traceback.print_exc()
                took = time.perf_counter() - begin
                if took > slowest:
                    slowest, which = took, f"{file.name} {name}"
                done += 1
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{done} programs and mutants, {refused} refused with a sentence, {failed} failed; peak {peak:.0f} MiB"
    )
    print(f"slowest {slowest:.2f} s ({which})")
    return 1 if failed else 0


if __name__ == "__main__":
    raise SystemExit(main())
