"""Theme: the first layer. Will it hold, and is it laid as first layers hold best."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.section import Beads
from viewer.checks.evidence import first_bead_in, line_of, middle_of_layer, tuned, unknown_zero_mm
from viewer.checks.extent import Region
from viewer.checks.extents import bead_runs, foot_and_centre, outlines, whole_layer
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Passed, Rule, Severity, with_rest
from viewer.checks.widths import unjudged
from viewer.figures.first_layer import Island
from viewer.figures.standing import Standing
from viewer.layers.layers import SUPPORT, UNLABELLED
from viewer.numerals import capital, number_text, share_text, told_apart
from viewer.program import Program
from viewer.shape.ground import MIN_PIECE_MM2, GroundBeads, distance_mm, ground_beads, middle_xy, worst_piece
from viewer.shape.masks import mean_width_mm
from viewer.shape.widths import THIN

FIRST_LAYER: Final = "the first layer"
MAX_FINDINGS: Final = 100
FAST_SHARE: Final = 0.9
"""The speed is the one that so much of the path does not exceed: short fast pieces do no harm."""
WIDE_FOOT: Final = 1.75
"""First layers are laid up to 1.5 times as wide as others; a raft's foot wider still, with gaps on purpose (common
practice, no source)."""
MUCH_FASTER: Final = 1.5
"""An excess of this factor over the limit is a look; less is a note."""
THIN_SHARE: Final = 0.25
"""Nozzle diameters: a first layer thinner than this scrapes and starves. Common practice, no source."""
FLAT_MM: Final = 0.001
CLOSE_SHARE: Final = 0.25
"""Nearer to full coverage than so much of the limit's distance no piece is looked at by itself."""


def _place(program: Program, xy: tuple[float, float], layer: int) -> tuple[float, float, float]:
    return tuned((*xy, float(program.layers.height_mm[layer - 1])))


def _doubtful(program: Program, slug: str, beads: Beads) -> Iterator[NotChecked]:
    """Say why the first layer cannot be judged; nothing where it can."""
    if not program.widths.is_known:
        yield from unjudged(program, slug)
        return
    mean, usual = mean_width_mm(beads), program.widths.usual_mm
    if mean is None:
        return
    thickness = float(np.average(beads.thickness_mm))
    if not usual / WIDE_FOOT < mean < WIDE_FOOT * usual or mean < THIN * thickness:
        yield NotChecked(
            slug,
            f"The first layer's beads come out {told_apart(mean, usual)[0]} mm wide, where others are "
            f"{told_apart(mean, usual)[1]} mm: it is a raft's foot, or its thickness is not known; it was not judged.",
        )


def _topples(program: Program, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    if unknown_zero_mm(program) is not None:
        return
    feet = (*program.first_layer.feet, *program.first_layer.pieces)
    if any(foot.is_flat for foot in feet):
        yield NotChecked("topples", _FLAT)
    weak = [one for one in program.standing if one.tilt_held_deg < limit]
    weak.sort(key=lambda one: one.tilt_held_deg)
    found = [_grip(program, rule, one, limit) for one in weak[:MAX_FINDINGS]]
    yield from with_rest(found, len(weak), "such part")
    least = min((one.tilt_held_deg for one in program.standing), default=None)
    if least is not None and not weak:
        what = "The part tips" if len(program.standing) == 1 else "The weakest part tips"
        least_text, enough = told_apart(least, limit)
        yield Passed(
            "topples",
            f"{what} over from {least_text} degrees of tilt on; {enough} are enough.",
            f"Tips over from {least_text} degrees of tilt; {enough} are enough",
        )


_FLAT: Final = (
    "A foot of the part has no area, because its beads have no width (the program does not say how much filament it "
    "feeds): not checked there."
)


def _grip(program: Program, rule: Rule, one: Standing, limit: float) -> Finding:
    layers, foot = program.layers, one.foot
    rows = np.flatnonzero(layers.object == one.object)
    number = int(rows[np.argmax(layers.is_first[rows])]) + 1
    hull = foot.part_xy_mm if len(foot.part_xy_mm) else foot.held_xy_mm
    low, high = hull.min(axis=0), hull.max(axis=0)
    middle = (0.5 * float(low[0] + high[0]), 0.5 * float(low[1] + high[1]))
    widened = one.tilt_held_deg > one.tilt_deg + 0.05
    held = "the hold-down widens it too little" if widened else "no hold-down widens it"
    size = f"{float(high[0] - low[0]):.0f} x {float(high[1] - low[1]):.0f} mm"
    return Finding(
        slug="topples",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"The part is {one.top_mm:.0f} mm high on a foot of {size} and {held}: "
        f"{one.tilt_held_deg:.1f} degrees of tilt topple it.",
        lines=(line_of(program, foot.move),),
        layer=number,
        place_mm=_place(program, middle, number),
        value=one.tilt_held_deg,
        limit=limit,
        unit="degrees of tilt",
        remedy="Have a brim or raft added, or the part laid down.",
        move=foot.move,
        extents=foot_and_centre(number, hull, one.centre_mm),
    )


def _tiny_island(program: Program, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    islands = [island for island in program.first_layer.islands if island.has_part]
    small = [island for island in islands if island.area_mm2 < limit]
    if not small:
        if islands:
            least, enough = told_apart(min(island.area_mm2 for island in islands), limit)
            which = (
                "The first layer is one piece"
                if len(islands) == 1
                else f"The smallest of {len(islands)} pieces"
            )
            which += " of" if len(islands) == 1 else " of the first layer has"
            yield Passed("tiny-island", f"{which} {least} mm2; {enough} mm2 are enough.")
        return
    ground = ground_beads(program.shape_columns)
    if doubts := list(_doubtful(program, "tiny-island", ground.beads)):
        yield from doubts
        return
    placed = [
        (island, ground.near(island.centre_mm, 0.5 * float(np.sqrt(island.area_mm2)))) for island in small
    ]
    placed = [(island, rows) for island, rows in placed if not _is_thread(program, ground.beads.where(rows))]
    loose = [(island, rows) for island, rows in placed if _is_part(program, ground.role[rows])]
    loose.sort(key=lambda entry: entry[0].area_mm2)
    found = [_island(program, rule, ground, island, rows) for island, rows in loose[:MAX_FINDINGS]]
    yield from with_rest(found, len(loose), "such island")


def _island(
    program: Program, rule: Rule, ground: GroundBeads, island: Island, rows: npt.NDArray[np.intp]
) -> Finding:
    move, layer = int(ground.beads.move[rows[0]]), int(ground.layer[rows[0]])
    return Finding(
        slug="tiny-island",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"A piece of the first layer stands alone on {island.area_mm2:.1f} mm2.",
        lines=(line_of(program, move),),
        layer=layer,
        place_mm=_place(program, island.centre_mm, layer),
        value=island.area_mm2,
        limit=rule.limit,
        unit="mm2",
        remedy="Have a brim added there, or hold this piece another way: the nozzle can knock it off.",
        move=move,
        extents=(Region(layer, outlines(ground.beads.where(rows))),),
    )


THREAD_SHARE: Final = 0.4
"""Nozzle diameters: beads narrower than this are no beads, but threads drawn out by a garbled line."""


def _is_thread(program: Program, beads: Beads) -> bool:
    """Whether the beads are so narrow that they hold a cell's middle only here and there, which makes no islands."""
    return float(beads.width_mm.mean()) < THREAD_SHARE * program.printer.nozzle_mm


def _is_part(program: Program, roles: U8) -> bool:
    """Whether an island is more than the foot of support, which often is small (guessed roles leave it unlabelled)."""
    aside = (SUPPORT,) if program.roles_from == "comments" else (SUPPORT, UNLABELLED)
    return not np.isin(roles, aside).all()


def _gaps(program: Program, rule: Rule) -> Iterator[Outcome]:
    limit, coverage = rule.limit or 0.0, program.first_layer.coverage
    if coverage is None:
        return
    if coverage >= 1.0 - CLOSE_SHARE * (1.0 - limit):
        yield _covered(coverage, limit)
        return
    ground = ground_beads(program.shape_columns)
    chosen = ground.is_part_alone
    part = ground.beads.where(chosen)
    if not len(part):
        return  # a first layer of support alone
    if doubts := list(_doubtful(program, "gaps", part)):
        if coverage < limit:
            yield from doubts
        return
    piece = worst_piece(part)
    # the program's coverage counts support too, whose lines stand apart by design
    value = piece.coverage if np.any(ground.is_part & ~chosen) else min(coverage, piece.coverage)
    if value >= limit:
        yield _covered(value, limit)
        return
    place_mm = piece.place_mm
    near = int(np.argmin(distance_mm(part, place_mm)))
    number, move = int(ground.layer[chosen][near]), int(part.move[near])
    which = "a piece of the first layer" if piece.pieces > 1 else "the first layer"
    yield Finding(
        slug="gaps",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"In {which} the beads cover only {share_text(value)} of the area within their outline: "
        "there are gaps between them.",
        lines=(line_of(program, move),),
        layer=number,
        place_mm=_place(program, place_mm, number),
        value=value,
        limit=limit,
        unit="of the outline's area",
        remedy="Look at the first layer's picture: too little filament (flow, its diameter) or lines laid too far apart.",
        move=move,
        extents=(Region(number, piece.gaps),),
    )


def _covered(coverage: float, limit: float) -> Passed:
    enough = f"; {share_text(limit)} is enough"
    return Passed("gaps", f"Beads cover {share_text(coverage)} of the first layer's outline{enough}.")


def _usual_speed(speed: F64, length: F64) -> float | None:
    order = np.argsort(speed, kind="stable")
    reached = np.cumsum(length[order])
    if not len(order) or reached[-1] <= 0.0:
        return None
    return float(speed[order[np.searchsorted(reached, FAST_SHARE * reached[-1])]])


def _first_layer_speed(program: Program, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    ground = ground_beads(program.shape_columns)
    part = np.flatnonzero(ground.is_part)
    length, move = ground.length_mm[part], ground.beads.move[part]
    speed = program.settings.commanded_mm_s(program.moves, move)
    value = _usual_speed(speed, length)
    if value is None:
        return
    if value <= limit:
        usual, bearable = told_apart(value, limit)
        held = f"{FAST_SHARE * 100.0:.0f} % of the first layer is laid at {usual} mm/s or slower"
        yield Passed("first-layer-speed", f"{held}; limit {bearable} mm/s.")
        return
    fast = np.flatnonzero(speed > limit)
    share = float(length[fast].sum() / length.sum())
    fastest, bearable = told_apart(float(speed.max()), limit)
    first, number = int(move[fast[0]]), int(ground.layer[part[fast[0]]])
    here = part[fast[ground.layer[part[fast]] == number]]
    yield Finding(
        slug="first-layer-speed",
        severity=rule.weigh(Severity.LOOK if value > MUCH_FASTER * limit else Severity.NOTE),
        sentence=f"{_much(share)} of the first layer is laid faster than {bearable} mm/s, up to {fastest} mm/s.",
        lines=(line_of(program, first),),
        layer=number,
        place_mm=_place(program, middle_xy(ground.beads.where(here)), number),
        value=value,
        limit=limit,
        unit="mm/s",
        remedy="Watch the first layer, or have it laid slower: slow beads hold better.",
        move=first,
        extents=bead_runs(program, ground.beads.move[here]),
    )


def _much(share: float) -> str:
    """Return a share as a sentence begins with it; sums of float32 are exact to no more than 1e-9 of all."""
    text = share_text(share)
    return "All" if share > 1.0 - 1e-9 else capital(text)


def _zero_unknown(program: Program, rule: Rule, lowest_mm: float) -> Finding:
    """Say that heights above the plate are not known; the checks that would build on them keep silent."""
    number = int(np.argmin(program.layers.height_mm)) + 1
    move = first_bead_in(program, number)
    return Finding(
        slug="first-layer-height",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"The lowest layer lies at a Z of {lowest_mm:.2f} mm: either Z does not count from the plate, or the "
        "print begins in the air or on something. Heights above the plate, and what follows from them, were not checked.",
        lines=(line_of(program, move),),
        layer=number,
        place_mm=middle_of_layer(program, number),
        value=lowest_mm / program.printer.nozzle_mm,
        limit=rule.limit,
        unit="nozzle diameters",
        remedy="See how the beginning of the program sets the zero of Z (G92, homing).",
        move=move,
        extents=whole_layer(program, number),
    )


def _first_layer_height(program: Program, rule: Rule) -> Iterator[Outcome]:
    nozzle = program.printer.nozzle_mm
    most, least = (rule.limit or 0.0) * nozzle, THIN_SHARE * nozzle
    if (lowest := unknown_zero_mm(program)) is not None:
        yield _zero_unknown(program, rule, lowest)
        return
    ground = ground_beads(program.shape_columns)
    for number in (np.flatnonzero(program.layers.is_first) + 1).tolist():
        own = (ground.layer == number) & ground.is_part
        height = float(program.layers.thickness_mm[number - 1])
        if not own.any() or least - FLAT_MM <= height <= most + FLAT_MM:
            continue  # a raft's foot is hold-down alone, and thick on purpose
        beads = ground.beads.where(own)
        move = int(beads.move[0])
        thick = height > most
        grave = height >= nozzle - FLAT_MM if thick else True
        measured, bound = told_apart(height, most if thick else least)
        how = f"more than {bound} mm ({rule.limit:g}" if thick else f"less than {bound} mm ({THIN_SHARE:g}"
        yield Finding(
            slug="first-layer-height",
            severity=rule.weigh(Severity.LOOK if grave else Severity.NOTE),
            sentence=f"The first layer is {measured} mm thick, {how} of the nozzle's {nozzle:g} mm).",
            lines=(line_of(program, move),),
            layer=number,
            place_mm=_place(program, middle_xy(beads), number),
            value=height / nozzle,
            limit=rule.limit if thick else THIN_SHARE,
            unit="nozzle diameters",
            remedy=_THINNER if thick else _THICKER,
            move=move,
            extents=whole_layer(program, number),
        )
        return
    judged = [
        float(program.layers.thickness_mm[number - 1])
        for number in (np.flatnonzero(program.layers.is_first) + 1).tolist()
        if ((ground.layer == number) & ground.is_part).any()
    ]
    if judged:
        measured = " to ".join(dict.fromkeys(number_text(height) for height in (min(judged), max(judged))))
        bounds = f"{number_text(least)} to {number_text(most)} mm"
        yield Passed(
            "first-layer-height",
            f"The first layer is {measured} mm thick; {bounds} suit a nozzle of {nozzle:g} mm.",
        )


_THINNER: Final = (
    "It is hardly pressed on the plate: have it made with a thinner first layer, or print it with a larger nozzle "
    "fitted."
)
_THICKER: Final = (
    "The nozzle scrapes and starves so near to the plate: have it made with a thicker first layer, or with a smaller "
    "nozzle."
)

FIRST_LAYER_CHECKS: Final = (
    Check(
        slug="topples", theme=FIRST_LAYER, title="Weak grip on the plate",
        looks_at="The angle by which the finished part must tilt to topple over the hull of its foot, with the hold-down "
        "that touches it: atan(distance from below the centre of mass to the hull's edge / height of that centre).",
        why="A tall part on a small foot is levered off the plate by the nozzle's pull.",
        what_to_do="Have a brim or raft added, or the part laid down.",
        cannot_see="How well filament and plate stick to each other. Support counts as part. Parts that stand nearer "
        "than some 2 mm to one another, or are joined by a brim, count as one.",
        severity=Severity.LOOK, limit=15.0, unit="degrees of tilt", run=_topples,
    ),
    Check(
        slug="tiny-island", theme=FIRST_LAYER, title="Tiny island",
        looks_at="Connected pieces of the first layer that are smaller than this, the hold-down that touches "
        "them included.",
        why="A small spot does not hold against the nozzle until the layers above tie it to the rest.",
        what_to_do="Have a brim added there.",
        cannot_see="Feet of support are left out (without comments, all that lies outside of every loop). "
        "Whether the piece is soon tied to others above is not looked at.",
        severity=Severity.LOOK, limit=5.0, unit="mm2", run=_tiny_island,
    ),
    Check(
        slug="gaps", theme=FIRST_LAYER, title="Gaps in the first layer",
        looks_at="How much of the first layer's outline, gaps up to a bead closed, its beads cover: in all, and in "
        f"every piece of at least {MIN_PIECE_MM2:g} mm2. Support is left out: its lines stand apart by design.",
        why="Where beads do not touch they hold neither each other nor the plate.",
        what_to_do="Look at the first layer's picture, the flow and the filament's diameter on the card.",
        cannot_see="What the machine really feeds. Gaps wider than a bead count as holes of the part.",
        severity=Severity.LOOK, limit=0.93, unit="of the outline's area", run=_gaps,
    ),
    Check(
        slug="first-layer-speed", theme=FIRST_LAYER, title="Fast first layer",
        looks_at="The commanded speed (with the program's own factor) that nine tenths of the first "
        "layer's path do not exceed.",
        why="Fast beads are pulled along instead of pressed on, and come loose.",
        what_to_do="Watch the first layer, or have it laid slower.",
        cannot_see="What this machine and plate bear: some are made for fast first layers; move the limit then.",
        severity=Severity.LOOK, limit=40.0, unit="mm/s", run=_first_layer_speed,
    ),
    Check(
        slug="first-layer-height", theme=FIRST_LAYER, title="First layer too thick or too thin",
        looks_at="The first layer's thickness against the nozzle's diameter: above this share, or below a quarter.",
        why="A thick first layer is hardly pressed on; a thin one scrapes and starves.",
        what_to_do="Have it made with another first layer, or for another nozzle.",
        cannot_see="How high the nozzle really is above the plate. A raft's foot is not looked at.",
        severity=Severity.LOOK, limit=0.8, unit="nozzle diameters", run=_first_layer_height,
    ),
)  # fmt: skip
