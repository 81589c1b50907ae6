"""``python -m tests.cuts FOLDER... [--count 1000]``: programs cut at random places; is each called cut short?

A cut before the first bead is told by `no-beads`, one that leaves no other sign by `no-shutdown`.

Of every program in the folders: the whole one must not be called cut short, and each beginning of it must be, but for
those that lack no more than its last 0.1 %. What is missed is printed with the text before the cut.
"""

from __future__ import annotations

import argparse
import random
import tempfile
from pathlib import Path

from viewer import open_program
from viewer.checks.run import CHECKS, run_checks
from viewer.errors import ReadError

TELLING = tuple(check for check in CHECKS if check.slug in ("cut-short", "no-beads", "no-shutdown"))
MISSING = "end is missing"
SPARED = 0.001
"""Of the end of a program: a cut there may go unseen."""


def is_called_cut(path: Path) -> bool:
    """Whether a keeper is told that something is missing; a file that is refused says so too."""
    try:
        program = open_program(path)
    except ReadError:
        return True
    found = run_checks(program, checks=TELLING).findings
    return any(one.slug != "no-shutdown" or MISSING in one.sentence for one in found)


def missed_cuts(data: bytes, count: int, seed: int, folder: Path) -> list[int]:
    """Return those of `count` random places at which the cut program passes for a whole one."""
    dice = random.Random(seed)
    last = len(data) - max(1, int(len(data) * SPARED))
    path = folder / "cut.gcode"
    missed = []
    for place in (dice.randrange(1, last) for _ in range(count)):
        path.write_bytes(data[:place])
        if not is_called_cut(path):
            missed.append(place)
    return missed


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--only", default="", help="programs whose name holds this")
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    found = [file for folder in options.folders for file in sorted(folder.glob("*.gcode"))]
    files = [file for file in found if options.only in file.name]
    wrong = cuts = missed = 0
    with tempfile.TemporaryDirectory() as folder:
        for number, file in enumerate(files):
            data = file.read_bytes()
            called = is_called_cut(file)
            places = missed_cuts(data, options.count, options.seed + number, Path(folder))
            cuts, missed, wrong = cuts + options.count, missed + len(places), wrong + called
            print(
                f"{file.name}: {'CALLED CUT SHORT' if called else 'whole'}, {len(places)} cuts missed",
                flush=True,
            )
            for place in places:
                print(f"    at {100 * place / len(data):.2f} %: {data[max(0, place - 60) : place]!r}")
    print(f"{len(files)} programs, {wrong} called cut short as they are; {missed} of {cuts} cuts missed")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
