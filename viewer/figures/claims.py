"""What a program claims about itself, beside what was computed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from viewer.read.comments.remarks import StatedClaim

FITS = 0.005
"""A filament claim fits a way of counting within this share."""
MAX_ROUNDING = 0.2
"""A claim of less than a few units of its last digit tells nothing."""
BASES = ("drawn", "part", "net", "beads", "forward")
TWICE = "forward"
"""The way that counts filament again which was pulled back and fed again."""
WRONG_UNITS = (1.0, 1e3, 1e-3, 10.0, 0.1, 100.0, 0.01, 25.4, 1.0 / 25.4)
"""Programs write mm3 as cm3, m as mm and so on: factors that are tried, the stated unit first."""


@dataclass(frozen=True, slots=True)
class ComparedClaim:
    """One claim and our figure."""

    line: int
    text: str
    quantity: str
    value: float
    unit: str
    basis: str
    """For filament: drawn, part, net, beads or forward, whichever fits, else none; for all else: computed, or none."""
    ours: float | None
    """In the claim's own unit; None where we compute nothing of the kind."""
    ratio: float | None
    """Claim over ours."""
    unit_off_by: float
    """1, or the factor by which the stated unit is wrong."""
    tool: int


def compare_claims(
    claims: tuple[StatedClaim, ...],
    fed_mm: Mapping[str, float],
    filament_by_tool_mm: Mapping[str, Mapping[int, float]],
    mm3_per_mm: float,
    g_per_mm: float,
    others: Mapping[str, float],
) -> tuple[ComparedClaim, ...]:
    """Put our figures beside the claims.

    Parameters
    ----------
    fed_mm
        Filament by each of `BASES`, mm.
    filament_by_tool_mm
        The same by tool, for the bases that are known by tool.
    mm3_per_mm, g_per_mm
        Volume and mass of 1 mm of filament.
    others
        Our figures for other quantities (``time_s``, ``first_layer_time_s``, ``cost``, ``layers``, ``height_mm`` ...).
    """
    return tuple(
        _compare(claim, fed_mm, filament_by_tool_mm, mm3_per_mm, g_per_mm, others) for claim in claims
    )


def _compare(
    stated: StatedClaim,
    fed_mm: Mapping[str, float],
    by_tool: Mapping[str, Mapping[int, float]],
    mm3_per_mm: float,
    g_per_mm: float,
    others: Mapping[str, float],
) -> ComparedClaim:
    claim = stated.claim
    scale = {"filament_mm": 1.0, "filament_mm3": mm3_per_mm, "filament_g": g_per_mm}.get(claim.quantity)
    off = 1.0
    ours: float | None
    if scale is not None:
        candidates = {basis: value * scale for basis, value in fed_mm.items()}
        if claim.tool >= 0:
            candidates = {basis: tools.get(claim.tool, 0.0) * scale for basis, tools in by_tool.items()}
        basis, ours, off = _closest(claim.amount, candidates, _rounding(claim.value))
    else:
        ours = others.get(claim.quantity)
        basis = "none" if ours is None else "computed"
    ratio = claim.amount * off / ours if ours else None
    in_unit = ours * claim.value / (claim.amount * off) if ours is not None and claim.amount else ours
    return ComparedClaim(
        stated.line, stated.text.strip()[:200], claim.quantity, claim.value, claim.unit, basis, in_unit, ratio, off,
        claim.tool,
    )  # fmt: skip


def _rounding(value: float) -> float:
    """Return half a unit of the last digit that a claim states, as a share of it: "1.1" may be 1.05 to 1.15.

    Amounts below 10 are written with one decimal at least.
    """
    decimals = max(len(repr(value).partition(".")[2].rstrip("0")), int(value < 10.0))
    return 0.5 * 10.0**-decimals / value if value > 0.0 else 0.0


def _closest(
    amount: float, candidates: Mapping[str, float], rounding: float
) -> tuple[str, float | None, float]:
    """Return the way of counting that fits best, our figure for it, and the factor by which the unit is wrong.

    A claim of few digits fits as well as its rounding lets it (up to `MAX_ROUNDING`). A claim that fits none is
    compared with the closest way that counts no filament twice.
    """
    fits = max(FITS, min(1.001 * rounding, MAX_ROUNDING))
    closest: tuple[float, str] | None = None
    for off in WRONG_UNITS:
        errors = {basis: abs(amount * off / ours - 1.0) for basis, ours in candidates.items() if ours > 0.0}
        best = min(errors, key=lambda basis: errors[basis], default=None)
        if best is None:
            continue
        if errors[best] <= (fits if off == 1.0 else FITS):
            return best, candidates[best], off
        if off == 1.0:
            closest = min(((error, basis) for basis, error in errors.items() if basis != TWICE), default=None)
    return ("none", candidates[closest[1]], 1.0) if closest else ("none", None, 1.0)
