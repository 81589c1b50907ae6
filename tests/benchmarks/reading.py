"""Text to moves and to all figures, beside `polars.read_csv` of the same numbers and pygcode; memory; growth.

Each measurement runs in a process of its own (peak memory is a process's), best of several repeats; ours and the
peer's alternate, so that a busy machine slows both.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

TASKS = {
    "moves": """
from viewer.cards import load_printer
from viewer.read.blocks import open_source
from viewer.read.scan import scan_source
printer = load_printer("heron")
def task():
    return scan_source(open_source(path), printer).finish()
""",
    "figures": """
from viewer.program import open_program
from viewer.figures.figures import filament_figures, layer_figures, time_figures
def task():
    p = open_program(path)
    return (p.totals, filament_figures(p.totals, p.timing.total_s, p.printer, p.filament, p.workshop),
            layer_figures(p.layers, p.timing), time_figures(p.timing, p.events, p.layers))
""",
    "all figures": """
from viewer.program import open_program
def task():
    return open_program(path).figures
""",
    "polars": """
import polars
def task():
    return polars.read_csv(path)
""",
    "pygcode": """
from pygcode import Line, Machine
lines = open(path, errors="replace").read().split("\\n")[:4000]
import logging, re
logging.disable(logging.CRITICAL)
plain = [m[0] for m in (re.match(r"G[01]( [XYZF]-?[0-9.]+)+", line) for line in lines) if m]
def task():
    machine = Machine()
    for text in plain:
        machine.process_block(Line(text).block)
    return len(plain)
""",
}
RUNNER = """
import json, resource, sys, time
path, repeats = sys.argv[1], int(sys.argv[2])
{task}
best, result = 1e9, None
for _ in range(repeats):
    del result
    begin = time.perf_counter()
    result = task()
    best = min(best, time.perf_counter() - begin)
    size = result if isinstance(result, int) else 0
print(json.dumps({{"s": best, "peak_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, "n": size}}))
"""


def measure(task: str, path: Path, repeats: int) -> dict[str, float]:
    """Run one task in a process of its own: best seconds, and peak memory in MiB."""
    done = subprocess.run(
        [sys.executable, "-c", RUNNER.format(task=TASKS[task]), str(path), str(repeats)],
        capture_output=True, text=True, check=True, env={**os.environ, "POLARS_MAX_THREADS": "2"},
    )  # fmt: skip
    return json.loads(done.stdout.strip().splitlines()[-1])


def alternate(tasks: dict[str, Path], rounds: int, repeats: int) -> dict[str, dict[str, float]]:
    """Measure several tasks in turns and keep the best time and the lowest peak of each."""
    best: dict[str, dict[str, float]] = {}
    for _ in range(rounds):
        for task, path in tasks.items():
            found = measure(task, path, repeats)
            if task not in best or found["s"] < best[task]["s"]:
                best[task] = {**found, "peak_mb": min(found["peak_mb"], best.get(task, found)["peak_mb"])}
    return best


def as_usual() -> dict[str, str]:
    """Return the environment, bytecode kept: without, every start compiles some 190 files, which no user's does."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def whole_process(arguments: list[str], repeats: int) -> float:
    """Best wall time of a console command as a whole process, s."""
    best = 1e9
    for _ in range(repeats):
        begin = time.perf_counter()
        subprocess.run(
            arguments, check=True, env=as_usual(), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        best = min(best, time.perf_counter() - begin)
    return best
