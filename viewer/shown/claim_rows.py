"""What a program claims about itself beside our figures, as rows."""

from __future__ import annotations

from collections.abc import Iterator

from viewer.figures.claims import ComparedClaim
from viewer.numerals import told_apart
from viewer.program import Program
from viewer.shown.numbers import difference_text, duration_text, money_text, number_text
from viewer.shown.row import Row, amount

CLAIM_NAMES = {
    "time_s": "time",
    "part_time_s": "time of the part",
    "first_layer_time_s": "time of layer 1",
    "filament_mm": "filament length",
    "filament_mm3": "filament volume",
    "filament_g": "filament mass",
    "cost": "cost",
    "layers": "layers",
    "height_mm": "height",
}
_BASES = {
    "drawn": "It fits all filament drawn, purge included.",
    "part": "It fits the filament drawn from layer 1 on.",
    "net": "It fits the plain sum of all filament moves, back and forward.",
    "beads": "It fits the filament of the beads alone.",
    "forward": "It fits the sum of all filament fed forward, that pulled back and fed again included.",
    "computed": "Beside our own figure of the same kind.",
    "none": "It fits none of the ways to count; nothing to compare with, or beside the part's filament.",
}


def claim_rows(program: Program) -> Iterator[Row]:
    """Yield one row a claim."""
    for claim in program.figures.claims:
        name = CLAIM_NAMES.get(claim.quantity, claim.quantity)
        tool = f" of tool {claim.tool}" if claim.tool >= 0 else ""
        how = f"Line {claim.line} says: {claim.text}. {_BASES[claim.basis]}"
        yield amount(
            "Claims", f"{name}{tool} (line {claim.line})", claim.value, claim.unit, how, _claim_text(claim)
        )


def _claim_text(claim: ComparedClaim) -> str:
    if claim.ours is None:
        return f"{_in_unit(claim.value, claim)}; not computed here"
    if claim.unit_off_by != 1.0:
        off = claim.unit_off_by
        times = f"{number_text(off)} times" if off > 1.0 else f"one {number_text(1.0 / off)}th of"
        return f"{_in_unit(claim.value, claim)}, but ours is {times} that: the stated unit is wrong"
    compared = f", {difference_text(claim.ratio)}" if claim.ratio is not None else ""
    stated, ours = _both(claim.value, claim.ours, claim)
    return f"{stated}; ours {ours}{compared}"


def _both(stated: float, ours: float, claim: ComparedClaim) -> tuple[str, str]:
    """Return the claim and our figure; where they would read alike though they differ, with a digit more or some."""
    texts = _in_unit(stated, claim), _in_unit(ours, claim)
    if texts[0] != texts[1] or (
        claim.unit == "s" and stated > 60.0
    ):  # hours and minutes are told to the second
        return texts
    more, of_ours = told_apart(stated, ours)
    return (_with_unit(more, claim), _with_unit(of_ours, claim)) if more != of_ours else texts


def _in_unit(value: float, claim: ComparedClaim) -> str:
    if claim.unit == "s":
        return duration_text(value)
    if claim.quantity == "cost":
        return money_text(value, claim.unit).strip()
    return _with_unit(number_text(value), claim)


def _with_unit(text: str, claim: ComparedClaim) -> str:
    return f"{text} {claim.unit.replace('3', '³')}".strip()
