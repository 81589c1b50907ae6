"""Write a demo print log of the Quayside Repair Workshop: invented prints, marked as such, for trying `beadline log`.

``python sample_programs/demo_log.py OUT.sqlite3``, then ``beadline log --log OUT.sqlite3 accuracy``, or the window with
``BEADLINE_PRINT_LOG=OUT.sqlite3`` and its key L. The invented truth: Heron takes half as long again to warm up as its
card says, Wren brakes and speeds up more slowly than its card says, and prints draw more filament than is computed.
"""

from __future__ import annotations

import sys
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from viewer import load_filament, load_printer, open_program
from viewer.printlog.history import ACCELERATING, HEATING
from viewer.printlog.rows import Outcome, Print, Spool, Weighing
from viewer.printlog.store import PrintLog

PROGRAMS = ("tap_washer_tray", "small_parts_plate", "coat_hook_pause", "tap_washers_bare")
PRINTERS = {"heron": {HEATING: 1.5}, "wren": {ACCELERATING: 1.4}}
"""How many of the computed seconds of a cause it really takes."""
FIRST_DAY = datetime(2026, 1, 5, 9, 0)
PRINTS = 40
SPREAD = 0.02
DRAWN = 1.04
"""How much more filament the prints draw than is computed."""
BENCHES = ("bench 3", "front desk", "", "evening class")
FAILURES = {11: (Outcome.FAILED, 3, "came off the plate"), 23: (Outcome.STOPPED, 7, "")}


def demo_prints() -> list[Print]:
    """Return invented prints, the same ones each time."""
    chance = np.random.default_rng(2026)
    folder = Path(__file__).parent
    filament = load_filament("pla")
    models = []
    for name in PROGRAMS:
        for card, truth in PRINTERS.items():
            with closing(open_program(folder / f"{name}.gcode", load_printer(card), filament)) as program:
                models.append((name, truth, program.printer.name, program.sha256, program.figures))
    prints = []
    for number in range(PRINTS):
        name, truth, printer, sha256, figures = models[chance.integers(len(models))]
        ledger = figures.time.ledger_s
        real = sum(seconds * truth.get(cause, 1.0) for cause, seconds in ledger.items())
        real *= 1.0 + SPREAD * chance.standard_normal()
        outcome, layer, reason = FAILURES.get(number, (Outcome.DONE, None, ""))
        started = FIRST_DAY + timedelta(days=number, minutes=int(chance.integers(0, 240)))
        prints.append(
            Print(
                program=f"{name}.gcode", sha256=sha256, printer=printer, filament=filament.name,
                computed_s=figures.time.total_s, parts_s=ledger, computed_g=figures.filament.mass_g, started=started,
                ended=started + timedelta(seconds=round(real if layer is None else 0.3 * real)), outcome=outcome,
                layer=layer, reason=reason, spool="blue PLA", charge=figures.filament.cost, currency="EUR",
                for_whom=BENCHES[number % len(BENCHES)], note="invented", invented=True,
                uid=f"quayside-demo-{number:03d}",
            )
        )  # fmt: skip
    return prints


def main(out: str) -> None:
    """Write the demo log to a file."""
    with PrintLog(out) as log:
        log.add_spool(Spool(label="blue PLA", filament="PLA", full_g=1000.0, tare_g=210.0, begun=FIRST_DAY))
        prints = demo_prints()
        log.add(prints)
        log.weigh(Weighing("blue PLA", FIRST_DAY, 1210.0))
        half = [one for one in prints if one.started < FIRST_DAY + timedelta(days=PRINTS // 2)]
        log.weigh(
            Weighing("blue PLA", half[-1].ended, round(1210.0 - DRAWN * sum(one.computed_g for one in half)))
        )
        log.add_spool(Spool(label="grey PETG", filament="PETG", full_g=750.0, begun=FIRST_DAY))


if __name__ == "__main__":
    main(sys.argv[1])
