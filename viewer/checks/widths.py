"""Whether the beads' widths fit nozzle, filament and flow; and how it is said that a shape could not be judged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from viewer.checks.finding import Finding, NotChecked, Outcome, Passed, Rule
from viewer.checks.holds import mismatch_free
from viewer.checks.questions import Question
from viewer.figures.claims import ComparedClaim
from viewer.layers.layers import UNLABELLED
from viewer.layers.spacing import Spacing
from viewer.numerals import number_text, share_text, told_apart
from viewer.program import Program
from viewer.read.moves import BEAD
from viewer.shape.widths import MIN_WIDTH, THIN_FILAMENT_MM, agree, is_other_filament, is_thick, is_usual
from viewer.units import filament_area_mm2

DIAMETER_MM: Final = 0.15
"""Filament of 1.75 and 2.85 mm are told apart by more than this; makers keep 0.05 mm (common practice, no source)."""
USUAL_MM: Final = (1.75, 2.85)
"""Filament is sold in these two diameters, the thicker one also as 3 mm (common practice, no source)."""
MUCH_UNLABELLED: Final = 0.2
"""Share of the path without a role from which it is told."""
OPTION: Final = "--filament-diameter"


@dataclass(frozen=True, slots=True)
class ToldDiameter:
    """A diameter of filament that the program tells of itself."""

    diameter_mm: float
    lines: tuple[int, ...]
    is_computed: bool  # from a claimed length and volume
    uncertain_mm: float  # by the rounding of what it follows from


def told_diameters(program: Program) -> Iterator[ToldDiameter]:
    """Yield the diameter that settings in comments state, and the one that a claimed length and volume make."""
    stated = program.made_for.filament_diameter
    if stated is not None:
        yield ToldDiameter(stated.value, (stated.line,), False, 0.0)
    claimed = claimed_diameter(program.figures.claims, program.filament_diameter_mm)
    if claimed is not None:
        yield claimed


def claimed_diameter(claims: tuple[ComparedClaim, ...], ours_mm: float) -> ToldDiameter | None:
    """Return the diameter that follows from a claimed length and volume, d = sqrt(4 V/(pi L)).

    None where nothing is claimed, or where the volume is ours: then the diameter is ours, too.
    """
    length = next((c for c in claims if c.quantity == "filament_mm" and c.basis != "none"), None)
    volume = next(
        (c for c in claims if c.quantity == "filament_mm3" and length is not None and c.tool == length.tool),
        None,
    )
    if length is None or volume is None or volume.ratio is None or volume.basis != "none":
        return None
    if length.ratio is None or volume.ratio <= 0.0 or length.ratio <= 0.0:
        return None
    theirs = ours_mm * float(np.sqrt(volume.ratio / length.ratio))
    rounding = ours_mm * 0.5 * 0.5 * 10.0 ** -_decimals(volume.value) / max(volume.value, 1e-9)
    return ToldDiameter(theirs, tuple(dict.fromkeys((length.line, volume.line))), True, rounding)


def _decimals(value: float) -> int:
    """Return how many decimals a claim was probably written with."""
    return len(f"{value:.6f}".rstrip("0").partition(".")[2]) or 1


def is_other_kind(one_mm: float, other_mm: float) -> bool:
    """Whether one diameter is that of thin filament (1.75 mm) and the other that of thick (2.85, 3 mm)."""
    thin = [THIN_FILAMENT_MM[0] <= value <= THIN_FILAMENT_MM[1] for value in (one_mm, other_mm)]
    return any(thin) and any(is_thick(value) for value in (one_mm, other_mm))


def other_kind(program: Program) -> ToldDiameter | None:
    """Return the diameter that the program tells, where its filament is of the other kind than the card's."""
    ours = program.filament_diameter_mm
    return next((told for told in told_diameters(program) if is_other_kind(told.diameter_mm, ours)), None)


def find_mismatch(program: Program, rule: Rule) -> Iterator[Outcome]:
    """Compare the beads' spacing with their computed width, and name what is off: filament, nozzle or flow."""
    median, ours = program.widths.computed_mm, program.filament_diameter_mm
    if median is None or rule.limit is None:
        return
    told = other_kind(program)
    nozzle = program.printer.nozzle_mm
    usual = MIN_WIDTH * nozzle <= median <= rule.limit * nozzle
    if usual and told is None:
        yield Passed("nozzle-mismatch", mismatch_free(program, rule.limit, MIN_WIDTH))
        return
    spacing = program.spacing
    ratio = spacing.fill_ratio(filament_area_mm2(ours))
    by_spacing = spacing.is_sure and not usual and is_other_filament(ratio, ours)
    if told is not None or by_spacing:
        yield _other_filament(program, rule, told, spacing, ratio)
    elif spacing.is_sure and not agree(ratio) and not usual and is_usual(spacing.width_mm, nozzle):
        yield _flow(rule, spacing, ratio)
    elif not usual and not (median < nozzle and spacing.is_sure and is_usual(spacing.width_mm, nozzle)):
        yield _nozzle(program, rule, median)


def _other_filament(
    program: Program, rule: Rule, told: ToldDiameter | None, spacing: Spacing, ratio: float
) -> Finding:
    ours = program.filament_diameter_mm
    theirs = told.diameter_mm if told is not None else ours * float(np.sqrt(ratio))
    nominal = min(USUAL_MM, key=lambda diameter: abs(diameter - theirs))
    if told is not None and not told.is_computed:
        nominal = told.diameter_mm
    times = ((nominal if told is None else theirs) / ours) ** 2
    off = f"{times:.1f} times too small" if times > 1.0 else f"{1.0 / times:.1f} times too large"
    return Finding(
        slug="nozzle-mismatch",
        severity=rule.severity,
        sentence=f"{_made_for(told, spacing, ratio, ours, nominal)}; the card says {ours:g} mm, so that mass and cost "
        f"come out {off}.",
        lines=told.lines if told is not None else (),
        value=round(theirs, 4),
        limit=ours,
        unit="mm",
        remedy=f"If filament of {nominal:g} mm is fitted, compute with it ({OPTION} {nominal:g}, or diameter_mm of "
        "the filament card); else have it made again for this filament.",
        question=Question.FILAMENT,
    )


def _made_for(
    told: ToldDiameter | None, spacing: Spacing, ratio: float, ours_mm: float, nominal_mm: float
) -> str:
    """Return which filament the program was made for, and what tells it."""
    if told is None:
        return (
            f"Beads lie {spacing.distance_mm:.2f} mm apart, and filament of {ours_mm:g} mm fills {1.0 / ratio:.2g} times "
            f"the space between them: the program was probably made for filament of {nominal_mm:g} mm"
        )
    what = "By its own length and volume" if told.is_computed else "By its own settings"
    if spacing.is_sure and not agree(ratio):
        what += " and its beads' spacing"
    return f"{what} the program was made for filament of {told.diameter_mm:.2f} mm"


def _flow(rule: Rule, spacing: Spacing, ratio: float) -> Finding:
    fed = 1.0 / ratio
    amount = f"{fed:.2g} times" if fed > 0.01 else "less than 0.01 times"
    return Finding(
        slug="nozzle-mismatch",
        severity=rule.severity,
        sentence=f"Beads lie {spacing.distance_mm:.2f} mm apart in layers of {spacing.thickness_mm:.2f} mm, as this "
        f"nozzle lays them, but {amount} the filament is fed that fills this space.",
        value=round(fed, 4),
        limit=1.0,
        unit="of the space between the beads",
        remedy="See how its flow is set: the E words may count something else than mm of filament, or the flow was "
        "changed by hand; have it made again.",
    )


def _nozzle(program: Program, rule: Rule, median: float) -> Finding:
    nozzle = program.printer.nozzle_mm
    low, high = MIN_WIDTH * nozzle, (rule.limit or 0.0) * nozzle
    word, limit = ("narrow", low) if median < low else ("wide", high)
    spacing = program.spacing
    ratio = spacing.fill_ratio(filament_area_mm2(program.filament_diameter_mm))
    apart = ""
    if spacing.is_sure and agree(ratio):
        apart = f", laid {spacing.distance_mm:.2f} mm apart"
    return Finding(
        slug="nozzle-mismatch",
        severity=rule.severity,
        sentence=f"Half of the path is beads of {told_apart(median, limit)[0]} mm or "
        f"{'less' if median < low else 'more'}{apart}, too {word} for a nozzle of {nozzle:g} mm, "
        f"which lays {number_text(low)} to {number_text(high)} mm.",
        value=median,
        limit=limit,
        unit="mm",
        remedy="See which nozzle is fitted and for which one the program was made; correct the card or have it "
        "made again.",
    )


def unjudged(program: Program, slug: str) -> Iterator[NotChecked]:
    """Say why a check of the shape was not made, or only in part: widths or roles are not known."""
    if not program.widths.is_known:
        yield NotChecked(
            slug,
            "How wide the beads are is not known, so that their shape was not judged: neither the filament fed nor the "
            f"beads' spacing gives a width that a nozzle of {program.printer.nozzle_mm:g} mm lays; see whether filament "
            "and nozzle on the cards are right.",
        )
        return
    share = _unlabelled_share(program)
    if share > MUCH_UNLABELLED:
        taken = "part" if program.roles_from == "comments" else "support"
        yield NotChecked(
            slug,
            f"For {share_text(share)} of the path it is not known what it is for: it was taken as {taken} and not judged "
            "further.",
        )


def _unlabelled_share(program: Program) -> float:
    """Return the share of the beads' path that has no role, from the first layer on."""
    moves = program.moves
    begin = int(program.layers.first_move[0]) if len(program.layers) else len(moves)
    bead = moves.kind[begin:] == BEAD
    length = moves.length_mm[begin:][bead]
    total = float(length.sum(dtype=np.float64))
    own = float(length[program.roles[begin:][bead] == UNLABELLED].sum(dtype=np.float64))
    return own / total if total > 0.0 else 0.0
