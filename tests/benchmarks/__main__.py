"""``python -m tests.benchmarks``: the table of what is reached, beside what others take for the same bytes.

Options: ``--quick`` (24 MB instead of 118), ``--growth`` (1, 10, 100, 1000 MB), ``--real FOLDER``
(claims of real programs). The window has a program of its own, ``tests.benchmarks.window``.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from tests.benchmarks import claims, drawing, reading
from tests.benchmarks.generate import generate, numbers_csv

DATA = Path(__file__).parent / "data"


def program_of(megabytes: int) -> Path:
    """Return the generated program of this size, made when it is missing."""
    DATA.mkdir(exist_ok=True)
    path = DATA / f"program_{megabytes}.gcode"
    if not path.exists():
        generate(path, megabytes)
    return path


def csv_of(program: Path) -> Path:
    path = program.with_suffix(".csv")
    if not path.exists():
        numbers_csv(program, path)
    return path


def main_table(megabytes: int) -> Iterator[str]:
    program = program_of(megabytes)
    found = reading.alternate(
        {"moves": program, "polars": csv_of(program), "figures": program, "all figures": program}, 3, 4
    )
    size = program.stat().st_size / 1e6
    with program.open("rb") as file:
        lines = sum(block.count(b"\n") for block in iter(lambda: file.read(1 << 22), b""))
    peer = found["polars"]["s"]
    pygcode = reading.measure("pygcode", program, 1)
    rate = pygcode["n"] / pygcode["s"]
    once = reading.measure("figures", program, 1)
    yield from (
        f"Program: {size:.1f} MB, {lines:,} lines.",
        "",
        "| what | measured | beside | reach |",
        "| --- | --- | --- | --- |",
        f"| text to moves | {found['moves']['s']:.3f} s ({size / found['moves']['s']:.0f} MB/s) "
        f"| {found['moves']['s'] / peer:.2f} x polars.read_csv ({peer:.3f} s) | <= 1.0 x |",
        f"| text to all figures but masks | {found['figures']['s']:.3f} s "
        f"| {found['figures']['s'] / peer:.2f} x | <= 2.0 x |",
        f"| the same with the first layer's masks | {found['all figures']['s']:.3f} s "
        f"| {found['all figures']['s'] / peer:.2f} x | - |",
        f"| lines a second | {lines / found['moves']['s']:,.0f} "
        f"| {lines / found['moves']['s'] / rate:,.0f} x pygcode ({rate:,.0f} lines/s) | >= 300 x |",
        f"| peak memory, all figures but masks, first run of a process | {once['peak_mb']:.0f} MiB "
        f"| {(once['peak_mb'] * 1.048576 - 200) / size:.2f} x size + 200 MB | <= 2.5 x + 200 MB |",
    )
    for threads in (1, 2):
        ms = drawing.drawing_ms(threads)
        yield f"| 100,000 beads at 1200 x 900, {threads} thread(s) | {ms:.1f} ms | 16.7 ms frame | <= 16 ms |"
    five = program_of(5)
    console = [sys.executable, "-m", "viewer", "figures", str(five)]
    process = reading.whole_process(console, 5)
    yield f"| `beadline figures` of 5 MB, whole process, warm | {process:.2f} s | - | <= 1.5 s |"
    yield f"| first compilation of all kernels | {drawing.compile_s():.1f} s | - | <= 20 s |"


def growth_table() -> list[str]:
    rows = ["| MB | text to moves s | all figures s | s / 100 MB | peak MiB |", "|" + " --- |" * 5]
    for megabytes in (1, 10, 100, 1000):
        program = program_of(megabytes)
        moves = reading.measure("moves", program, 2)
        figures = reading.measure("figures", program, 1 if megabytes > 500 else 2)
        rows.append(
            f"| {megabytes} | {moves['s']:.3f} | {figures['s']:.3f} | {figures['s'] * 100 / megabytes:.3f} "
            f"| {figures['peak_mb']:.0f} |"
        )
    return rows


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--growth", action="store_true")
    parser.add_argument("--real", type=Path)
    options = parser.parse_args()
    print(
        f"{date.today()}, {platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}\n"
    )
    for row in main_table(24 if options.quick else 118):
        print(row, flush=True)
    if options.growth:
        print()
        print("\n".join(growth_table()))
    if options.real:
        print()
        print("\n".join(claims.table(options.real)))


if __name__ == "__main__":
    main()
