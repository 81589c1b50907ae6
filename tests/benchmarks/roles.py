"""``python -m tests.benchmarks.roles FOLDER``: roles from shape beside the roles that comments name, by path.

For each program with role comments the roles are read from shape, its comments left out (layer marks stay), and
compared bead by bead. Beads that the comments give no role do not count, nor those before the first layer; a bridge is
solid, as bridges are not told from solids. Pooled: of all path; mean: of the programs' shares.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from viewer import ReadError, open_program
from viewer.layers.layers import BRIDGE, ROLE_NAMES, SOLID, UNLABELLED
from viewer.layers.naming import guess_roles
from viewer.program import Program
from viewer.read.moves import BEAD


@dataclass(frozen=True, slots=True, eq=False)
class Agreement:
    """Path of a program's beads by the role that comments name (rows) and the one read from shape (columns), mm."""

    name: str
    path_mm: npt.NDArray[np.float64]

    @property
    def share(self) -> float:
        """Return the share of the path with the same role, 0 .. 1."""
        return float(np.trace(self.path_mm) / self.path_mm.sum())


def compare(program: Program) -> Agreement | None:
    """Compare a program's roles; None where its comments name none of any bead, or leave some to shape."""
    if program.roles_from != "comments" or not len(program.layers) or program.remarks.open_roles:
        return None
    moves = program.moves
    guessed = guess_roles(moves, program.layers, program.spacing, program.printer.nozzle_mm)
    named = np.where(program.roles == BRIDGE, SOLID, program.roles)
    counted = (moves.kind == BEAD) & (named != UNLABELLED) & np.isfinite(moves.length_mm)
    counted[: program.layers.first_move[0]] = False
    pair = named[counted].astype(np.intp) * len(ROLE_NAMES) + guessed[counted]
    path = np.bincount(pair, moves.length_mm[counted].astype(np.float64), len(ROLE_NAMES) ** 2)
    if not path.sum() > 0.0:
        return None
    return Agreement(program.path.stem, path.reshape(len(ROLE_NAMES), -1))


def _confused(path_mm: npt.NDArray[np.float64], most: int) -> str:
    """Name the pairs of roles that are taken for one another most, with their share of the path in percent."""
    wrong = 100.0 * path_mm / path_mm.sum()
    np.fill_diagonal(wrong, 0.0)
    order = np.argsort(-wrong, axis=None)[:most]
    pairs = [np.unravel_index(k, wrong.shape) for k in order.tolist()]
    shown = [f"{ROLE_NAMES[a]} as {ROLE_NAMES[b]} {wrong[a, b]:.1f}" for a, b in pairs if wrong[a, b] >= 0.05]
    return ", ".join(shown)


def table(folder: Path) -> Iterator[str]:
    """Return rows of the table: one a program, then pooled and mean, then all pairs of roles."""
    found: list[Agreement] = []
    yield "| program | agrees % | named as read, % of path |"
    yield "| --- | --- | --- |"
    for path in sorted(folder.glob("*.gcode")):
        try:
            program = open_program(path)
        except ReadError as error:
            yield f"| {path.stem} | - | {error} |"
            continue
        agreement = compare(program)
        program.close()
        if agreement is None:
            continue
        found.append(agreement)
        yield f"| {agreement.name} | {100.0 * agreement.share:.1f} | {_confused(agreement.path_mm, 4)} |"
    if not found:
        yield "| none has role comments | - | |"
        return
    total = np.sum([one.path_mm for one in found], axis=0)
    pooled = float(np.trace(total) / total.sum())
    mean = float(np.mean([one.share for one in found]))
    yield f"| **pooled** of {len(found)} | {100.0 * pooled:.1f} | {_confused(total, 12)} |"
    yield f"| **mean** | {100.0 * mean:.1f} | |"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    for row in table(parser.parse_args().folder):
        print(row, flush=True)


if __name__ == "__main__":
    main()
