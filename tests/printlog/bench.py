"""A bench whose truth is known: computed ledgers, and real times that deviate from them in a stated way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np

from viewer.printlog.rows import Print

START = datetime(2026, 3, 2, 9, 0)


@dataclass
class Bench:
    chance: np.random.Generator
    heating: float = 1.0
    """The true seconds over the computed ones."""
    accelerating: float = 1.0
    levelling: float = 1.0
    noise: float = 0.03
    """Spread of the real time, as a share."""
    printer: str = "Heron"

    def print_(self) -> Print:
        """Return a print of some program, from ten minutes to a few hours."""
        laying = float(np.exp(self.chance.uniform(np.log(600.0), np.log(12_000.0))))
        ledger = {
            "laying": laying,
            "speeding up and braking": laying * self.chance.uniform(0.1, 0.6),
            "travel": laying * self.chance.uniform(0.05, 0.2),
            "heating": self.chance.uniform(90.0, 420.0),
            "homing and levelling": self.chance.choice([25.0, 120.0]),
        }
        real = sum(ledger.values())
        real += ledger["heating"] * (self.heating - 1.0)
        real += ledger["speeding up and braking"] * (self.accelerating - 1.0)
        real += ledger["homing and levelling"] * (self.levelling - 1.0)
        real *= 1.0 + self.noise * self.chance.standard_normal()
        return made(ledger, real, self.printer)

    def forgotten(self, one: Print) -> Print:
        """Return a print that somebody noted the end of much later."""
        return replace(one, ended=one.ended + timedelta(seconds=one.real_s * self.chance.uniform(0.6, 8.0)))


def made(ledger: dict[str, float], real_s: float, printer: str = "Heron") -> Print:
    """Return a print of a computed ledger that took `real_s`."""
    return Print(
        program="bracket.gcode", sha256="0" * 64, printer=printer, filament="PLA", computed_s=sum(ledger.values()),
        parts_s=ledger, computed_g=12.5, started=START, ended=START + timedelta(seconds=real_s),
    )  # fmt: skip
