"""``python -m tests.benchmarks.window``: how quick the window is, on the screen that ``DISPLAY`` names.

    xvfb-run -s "-screen 0 1280x800x24" python -m tests.benchmarks.window [--wide] [--why] [PROGRAM ...]

Every row comes from processes of their own; times are the best of several, gaps and the worst lag of a drag the longest
of all runs. A gap is the time between two ticks of a 2 ms timer in the window's thread: what a hand on the mouse would
feel.
``--wide`` opens the window at 1920 x 1080, ``--why`` prints where the window's thread stood in long gaps.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from tests.benchmarks.generate import generate
from tests.benchmarks.reading import as_usual

DATA = Path(__file__).parent / "data"
SAMPLES = Path(__file__).parents[2] / "sample_programs"
RUNS = 3
NEVER = ("gap", "worst")


def program_of(megabytes: int, beads_a_layer: int = 4000) -> Path:
    """Return a generated program, made when it is missing."""
    DATA.mkdir(exist_ok=True)
    path = DATA / f"{megabytes}mb_{beads_a_layer}_seed1.gcode"
    if not path.exists():
        generate(path, megabytes, beads_per_layer=beads_a_layer)
    return path


def child(
    task: str, path: Path | None, options: argparse.Namespace, settings: str, cache: str = ""
) -> dict[str, float]:
    """Run one task of `tests.benchmarks.window_probe` in a fresh process."""
    command = [sys.executable, "-m", "tests.benchmarks.window_probe", task, str(path or "")]
    size = (1920, 1080) if options.wide else (1280, 800)
    environment = {**as_usual(), "XDG_CONFIG_HOME": settings, "PROBE_SIZE": f"{size[0]}x{size[1]}",
                   "PROBE_WHY": "1" if options.why else "", "PROBE_BEGUN": repr(time.time()),
                   **({"NUMBA_CACHE_DIR": cache} if cache else {})}  # fmt: skip
    done = subprocess.run(command, check=False, capture_output=True, text=True, env=environment, timeout=900)
    sys.stderr.write(done.stderr)
    if done.returncode:
        raise SystemExit(f"{task} {path}: ended with {done.returncode}")
    found: dict[str, float] = json.loads(done.stdout.splitlines()[-1])
    return found


def told(task: str, path: Path | None, options: argparse.Namespace, runs: int = RUNS) -> dict[str, float]:
    """Return the least of each time of several processes; of gaps and lags, which never may be long, the longest."""
    with tempfile.TemporaryDirectory() as settings:
        found = [child(task, path, options, settings) for _ in range(runs)]
    return {name: (max if name in NEVER else min)(one[name] for one in found) for name in found[0]}


def first_start(path: Path, options: argparse.Namespace) -> dict[str, float]:
    """Name a program where no kernel has been compiled yet."""
    with tempfile.TemporaryDirectory() as settings, tempfile.TemporaryDirectory() as cache:
        return child("cold", path, options, settings, cache)


def rows(options: argparse.Namespace) -> Iterator[tuple[str, float, str]]:
    """Return what is measured, its figure in ms, and what is to be reached."""
    start = told("start", None, options)
    yield "process start to first paint, warm", start["window"], "1000"
    yield "longest gap while the engine gets ready", start["gap"], "100"
    ten = program_of(10)
    cold = told("cold", ten, options)
    yield "10 MB named on the command line: window", cold["window"], "1000"
    yield "- its first layer, from process start", cold["first"], "-"
    yield "- all of it, from process start", cold["all"], "-"
    yield "- longest gap", cold["gap"], "100"
    found = first_start(ten, options)
    yield "the same at the first start, kernels compiled meanwhile: all of it", found["all"], "-"
    yield "- longest gap", found["gap"], "100"
    ready = told("ready", ten, options)
    yield "10 MB opened in a running window: first layer", ready["first"], "500"
    yield "- all of it", ready["all"], "1500"
    yield "- findings", ready["checked"], "-"
    yield "- longest gap until the findings", ready["gap"], "100"
    for path in (ten, program_of(118)):
        found = told("cards", path, options)
        yield f"{path.name} under another filament: findings", found["checked"], "-"
        yield "- longest gap until then", found["gap"], "100"
    frame = told("frame", program_of(10, 100_000), options, 2)
    yield "100,000 beads: picture by the kernel", frame["kernel"], "16"
    yield "- whole frame, panned", frame["frame"], "33"
    yield "- whole frame, coloured by speed", frame["coloured"], "33"
    yield "- another layer of as many", frame["layer"], "-"
    samples = [SAMPLES / f"{name}.gcode" for name in ("tap_washer_tray", "tap_washers_bare")]
    for path in (*samples, ten, program_of(118), *(options.programs or ())):
        drag = told("drag", path, options)
        yield f"drag along the strip, {path.name}: usual lag", drag["usual"], "16.7"
        yield f"- worst of all frames of {RUNS} runs", drag["worst"], "33"
    for path in (*(options.programs or ()), *sorted(SAMPLES.glob("*.gcode"))[:3], program_of(118)):
        found = told("ready", path, options)
        yield f"{path.name}: first layer", found["first"], "-"
        yield "- all of it", found["all"], "-"
        yield "- longest gap until the findings", found["gap"], "100"


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--wide", action="store_true")
    parser.add_argument("--why", action="store_true")
    parser.add_argument("programs", nargs="*", type=Path, metavar="PROGRAM")
    options = parser.parse_args()
    print("| what | ms | reach |\n| --- | --- | --- |")
    for what, milliseconds, reach in rows(options):
        print(f"| {what} | {milliseconds:.0f} | {reach} |", flush=True)


if __name__ == "__main__":
    main()
