"""Surveys measured: one worker and several, memory, the second run; `python -m tests.benchmarks.survey FOLDER`.

The programs are those that are named, in a seeded order, and copies of them that differ: each is laid at another speed,
so that no row can be taken from another one.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import subprocess
import sys
import tempfile
import threading
import time
from itertools import cycle, islice
from pathlib import Path

from viewer.survey.files import programs_in

_SPEED = re.compile(rb"(?m)^(G[01] [^;\n]*?F)(\d+)")
BROKEN_EVERY = 50
"""One of so many programs is broken: a picture by its first bytes."""


def corpus(named: list[str], folder: Path, count: int) -> Path:
    """Write `count` programs into a folder."""
    sources, _ = programs_in(named)
    plain = [path for path in sources if not path.endswith(".gz")]
    random.Random(1).shuffle(plain)
    for number, path in enumerate(islice(cycle(plain), count)):
        data = Path(path).read_bytes()
        if number % BROKEN_EVERY == BROKEN_EVERY - 1:
            data = b"\x89PNG" + data[:1000]
        elif number >= len(plain):
            share = 1.0 - 0.001 * (number % 97 + 1)
            data = b"; copy %d\n" % number + _slower(data, share)
        (folder / f"{number:05d} {Path(path).name}").write_bytes(data)
    return folder


def _slower(data: bytes, share: float) -> bytes:
    return _SPEED.sub(lambda found: found[1] + str(round(int(found[2]) * share)).encode(), data)


def held_and_worked(of: int) -> tuple[float, float]:
    """Return what a process and all below it hold, MB, and have worked, s of cores.

    Pages that several processes share are counted in parts (PSS).
    """
    below = subprocess.run(
        ["ps", "-e", "-o", "pid=,ppid="], capture_output=True, text=True, check=True
    ).stdout
    parents = {int(pid): int(parent) for pid, parent in (line.split() for line in below.splitlines())}
    family, held, worked = {of}, 0, 0
    while more := {pid for pid, parent in parents.items() if parent in family} - family:
        family |= more
    for pid in family:
        try:
            text = Path(f"/proc/{pid}/smaps_rollup").read_text()
            times = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            continue  # it has ended
        held += sum(int(line.split()[1]) for line in text.splitlines() if line.startswith("Pss:"))
        worked += sum(int(ticks) for ticks in times[11:13])
    return held / 1000.0, worked / os.sysconf("SC_CLK_TCK")


def run(folder: Path, cache: Path, *options: str) -> tuple[float, float, float]:
    """Survey a folder; return seconds, seconds of all cores, and the most memory, MB."""
    environment = {**os.environ, "BEADLINE_CACHE": str(cache)}
    begun, seen = time.perf_counter(), [(0.0, 0.0)]
    command = [
        sys.executable,
        "-m",
        "viewer",
        "survey",
        str(folder),
        "--csv",
        str(cache / "rows.csv"),
        *options,
    ]
    cache.mkdir(exist_ok=True)
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL)

    def watch() -> None:
        while process.poll() is None:
            seen.append(held_and_worked(process.pid))
            time.sleep(0.2)

    watcher = threading.Thread(target=watch)
    watcher.start()
    process.wait()
    seconds = time.perf_counter() - begun
    watcher.join()
    return seconds, max(cpu for _, cpu in seen), max(held for held, _ in seen)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("named", nargs="+", metavar="FOLDER_OR_FILE")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--jobs", default="1,2")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "programs"
        folder.mkdir()
        corpus(asked.named, folder, asked.count)
        size = sum(path.stat().st_size for path in folder.iterdir()) / 1e6
        print(f"{asked.count} programs, {size:.0f} MB", flush=True)
        for jobs in asked.jobs.split(","):
            cache = Path(name) / f"cache {jobs}"
            for said in ("first", "second"):
                seconds, cpu, most = run(folder, cache, "--jobs", jobs)
                print(
                    f"--jobs {jobs}, {said} run: {seconds:.1f} s, {cpu:.1f} s of cores, {most:.0f} MB",
                    flush=True,
                )
            store = (cache / "survey.sqlite3").stat().st_size / asked.count / 1000.0
            print(f"  the store holds {store:.1f} kB a program", flush=True)


if __name__ == "__main__":
    main()
