"""How often the true values of simulated machines lie in the intervals of the stopwatch test.

python -m tests.benchmarks.stopwatch [RUNS] [PRINTER ...]
"""

import sys
import time

from tests.stopwatch.machines import coverage
from viewer.cards import load_printer
from viewer.stopwatch import make_test
from viewer.stopwatch.proposal import CONFIDENCE, HAND_S

if __name__ == "__main__":
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    for printer in sys.argv[2:] or ("heron", "wren", "dipper"):
        began = time.perf_counter()
        counts = coverage(make_test(load_printer(printer)), runs, HAND_S, seed=1)
        each = (time.perf_counter() - began) / runs
        missed = sum(one.missed for one in counts.values())
        print(f"{printer}: {runs} machines, {each:.2f} s each; of {CONFIDENCE:.0%} intervals", end=" ")
        print(f"{1.0 - missed / (runs * len(counts)):.1%} hold the truth")
        for name, one in counts.items():
            print(f"  {name:<15} {one.cover:6.1%}   open above {one.open_above / runs:4.0%}")
