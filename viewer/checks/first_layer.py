"""Theme: the first layer. Will it hold, and is it laid as first layers hold best."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from viewer.arrays import F64, U8
from viewer.beads.draw import ASLANT_RAD, Grid, draw_mask
from viewer.beads.masks import close_gaps
from viewer.beads.regions import label_cells
from viewer.beads.section import Beads, layer_beads, turned_xy
from viewer.checks.evidence import line_of, tuned
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Rule, Severity, with_rest
from viewer.checks.masks import fitted, is_doubtful
from viewer.checks.subject import Subject
from viewer.figures.first_layer import Island
from viewer.figures.standing import Standing
from viewer.layers.layers import HOLD, PURGE, SUPPORT, UNLABELLED
from viewer.numerals import share_text, told_apart

FIRST_LAYER: Final = "the first layer"
MAX_FINDINGS: Final = 5
FAST_SHARE: Final = 0.9
"""The speed is the one that so much of the path does not exceed: short fast pieces do no harm."""
MUCH_FASTER: Final = 1.5
"""So many times the limit is to be looked at; less is noted."""
THIN_SHARE: Final = 0.25
"""Nozzle diameters: a first layer thinner than this scrapes and starves. Common practice, no source."""
FLAT_MM: Final = 0.001
CLOSE_SHARE: Final = 0.25
"""Nearer to full coverage than so much of the limit's distance no piece is looked at by itself."""
MIN_PIECE_MM2: Final = 25.0
"""Smaller pieces of the first layer are mostly edge: what they cover says little (common practice, no source)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """The beads that lie on the plate, purge left out."""

    beads: Beads
    role: U8  # (n,)
    layer: npt.NDArray[np.intp]  # (n,) from 1

    @property
    def is_part(self) -> npt.NDArray[np.bool_]:
        """(n,) all but hold-down."""
        return np.asarray(self.role != HOLD)

    @property
    def length_mm(self) -> F64:
        """(n,) from end to end."""
        beads = self.beads
        length = np.hypot(beads.x1_mm - beads.x0_mm, beads.y1_mm - beads.y0_mm)
        return np.asarray(length, dtype=np.float64)


def _ground(subject: Subject) -> _Ground:
    numbers = np.flatnonzero(subject.layers.is_first) + 1
    diameter = subject.filament_diameter_mm
    beads = Beads.joined([layer_beads(subject.moves, subject.layers, int(n), diameter) for n in numbers])
    kept = subject.roles[beads.move] != PURGE
    beads = beads.where(kept)
    return _Ground(beads, subject.roles[beads.move], subject.layers.of_moves(beads.move))


def _place(subject: Subject, xy: tuple[float, float], layer: int) -> tuple[float, float, float]:
    return tuned((*xy, float(subject.layers.height_mm[layer - 1])))


def _middle(beads: Beads) -> tuple[float, float]:
    """Return the middle of the box of some beads' ends."""
    x, y = np.concatenate([beads.x0_mm, beads.x1_mm]), np.concatenate([beads.y0_mm, beads.y1_mm])
    return 0.5 * float(x.min() + x.max()), 0.5 * float(y.min() + y.max())


def _doubtful(subject: Subject, slug: str) -> NotChecked:
    return NotChecked(
        slug,
        f"The first layer's beads come out wider or narrower than a {subject.printer.nozzle_mm:g} mm nozzle lays: "
        "not checked; see whether the filament's diameter and the nozzle on the cards are right.",
    )


def _topples(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    weak = [one for one in subject.standing if one.tilt_held_deg < limit]
    weak.sort(key=lambda one: one.tilt_held_deg)
    found = [_grip(subject, rule, one, limit) for one in weak[:MAX_FINDINGS]]
    yield from with_rest(found, len(weak), "such part")


def _grip(subject: Subject, rule: Rule, one: Standing, limit: float) -> Finding:
    layers, foot = subject.layers, one.foot
    rows = np.flatnonzero(layers.object == one.object)
    number = int(rows[np.argmax(layers.is_first[rows])]) + 1
    hull = foot.part_xy_mm if len(foot.part_xy_mm) else foot.held_xy_mm
    low, high = hull.min(axis=0), hull.max(axis=0)
    middle = (0.5 * float(low[0] + high[0]), 0.5 * float(low[1] + high[1]))
    widened = one.tilt_held_deg > one.tilt_deg + 0.05
    held = "the hold-down widens it too little" if widened else "no hold-down widens it"
    size = f"{float(high[0] - low[0]):.0f} x {float(high[1] - low[1]):.0f} mm"
    return Finding(
        "topples", rule.weigh(Severity.LOOK),
        f"The part is {one.top_mm:.0f} mm high on a foot of {size} and {held}: "
        f"{one.tilt_held_deg:.1f} degrees of tilt topple it.",
        (line_of(subject, foot.move),), number, _place(subject, middle, number), one.tilt_held_deg, limit,
        "degrees of tilt", "Have a brim or raft added, or the part laid down.", foot.move,
    )  # fmt: skip


def _tiny_island(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    small = [island for island in subject.first_layer.islands if island.has_part and island.area_mm2 < limit]
    if not small:
        return
    ground = _ground(subject)
    if is_doubtful(ground.beads, subject.printer.nozzle_mm):
        yield _doubtful(subject, "tiny-island")
        return
    placed = [(island, _beads_of(ground, island)) for island in small]
    placed = [(island, rows) for island, rows in placed if not _is_thread(subject, ground.beads.where(rows))]
    loose = [(island, rows) for island, rows in placed if _is_part(subject, ground.role[rows])]
    loose.sort(key=lambda entry: entry[0].area_mm2)
    found = [_island(subject, rule, ground, island, rows) for island, rows in loose[:MAX_FINDINGS]]
    yield from with_rest(found, len(loose), "such island")


def _island(
    subject: Subject, rule: Rule, ground: _Ground, island: Island, rows: npt.NDArray[np.intp]
) -> Finding:
    move, layer = int(ground.beads.move[rows[0]]), int(ground.layer[rows[0]])
    return Finding(
        "tiny-island", rule.weigh(Severity.LOOK),
        f"A piece of the first layer stands alone on {island.area_mm2:.1f} mm2.",
        (line_of(subject, move),), layer, _place(subject, island.centre_mm, layer), island.area_mm2, rule.limit, "mm2",
        "Have a brim added there, or hold this piece another way: the nozzle can knock it off.", move,
    )  # fmt: skip


THREAD_SHARE: Final = 0.4
"""Nozzle diameters: beads narrower than this are no beads, but threads drawn out by a garbled line."""


def _is_thread(subject: Subject, beads: Beads) -> bool:
    """Whether the beads are so narrow that they hold a cell's middle only here and there, which makes no islands."""
    return float(beads.width_mm.mean()) < THREAD_SHARE * subject.printer.nozzle_mm


def _beads_of(ground: _Ground, island: Island) -> npt.NDArray[np.intp]:
    """Return the rows of the beads that lie within the island's size of its middle, or else the nearest."""
    away = _away(ground.beads, island.centre_mm) - 0.5 * ground.beads.width_mm
    rows = np.flatnonzero((away < 0.5 * np.sqrt(island.area_mm2)) & ground.is_part)
    return rows if len(rows) else np.array([np.argmin(np.where(ground.is_part, away, np.inf))])


def _is_part(subject: Subject, roles: U8) -> bool:
    """Whether an island is more than the foot of support, which often is small (guessed roles leave it unlabelled)."""
    aside = (SUPPORT,) if subject.roles_from == "comments" else (SUPPORT, UNLABELLED)
    return not np.isin(roles, aside).all()


def _gaps(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    limit, coverage = rule.limit or 0.0, subject.first_layer.coverage
    if coverage is None or coverage >= 1.0 - CLOSE_SHARE * (1.0 - limit):
        return
    ground = _ground(subject)
    part = ground.beads.where(ground.is_part)
    if is_doubtful(part, subject.printer.nozzle_mm):
        if coverage < limit:
            yield _doubtful(subject, "gaps")
        return
    piece = _worst_piece(part.turned(ASLANT_RAD))
    value = min(coverage, piece.coverage)
    if value >= limit:
        return
    place_mm = turned_xy(*piece.place_mm, -ASLANT_RAD)
    near = int(np.argmin(_away(part, place_mm)))
    number, move = int(ground.layer[ground.is_part][near]), int(part.move[near])
    which = "a piece of the first layer" if piece.of > 1 else "the first layer"
    yield Finding(
        "gaps", rule.weigh(Severity.LOOK),
        f"In {which} the beads cover only {share_text(value)} of the area within their outline: "
        "there are gaps between them.",
        (line_of(subject, move),), number, _place(subject, place_mm, number), value, limit,
        "of the outline's area",
        "Look at the first layer's picture: too little filament (flow, its diameter) or lines laid too far apart.",
        move,
    )  # fmt: skip


def _away(beads: Beads, place: tuple[float, float]) -> F64:
    """Return (n,) how far the beads' middle lines lie from a place, mm."""
    dx, dy = (beads.x1_mm - beads.x0_mm).astype(np.float64), (beads.y1_mm - beads.y0_mm).astype(np.float64)
    px, py = place[0] - beads.x0_mm, place[1] - beads.y0_mm
    at = ((px * dx + py * dy) / np.maximum(dx * dx + dy * dy, 1e-12)).clip(0.0, 1.0)
    return np.asarray(np.hypot(px - at * dx, py - at * dy), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Piece:
    """A connected piece of the first layer and the gaps in it."""

    coverage: float
    place_mm: tuple[float, float]  # middle of its gaps, where the beads were drawn
    of: int  # how many pieces there are


def _worst_piece(part: Beads) -> _Piece:
    """Return the piece that is covered least, of those that are large enough to tell, on a grid of 0.05 to 0.1 mm."""
    width = float(np.median(part.width_mm))
    low_x, low_y = min(part.x0_mm.min(), part.x1_mm.min()), min(part.y0_mm.min(), part.y1_mm.min())
    high_x, high_y = max(part.x0_mm.max(), part.x1_mm.max()), max(part.y0_mm.max(), part.y1_mm.max())
    sheet = fitted((float(low_x), float(low_y), float(high_x), float(high_y)), 2.0 + 2.0 * width)
    # half as coarse as for shapes: a gap is often narrower than a cell there
    grid = Grid(sheet.grid.left_mm, sheet.grid.front_mm, 0.5 * sheet.grid.cell_mm)
    mask = np.zeros((2 * sheet.shape[0], 2 * sheet.shape[1]), np.uint8)
    draw_mask(mask, part, grid)
    labels, count = label_cells(close_gaps(mask, 1, part, grid, width))
    whole = np.bincount(labels.ravel(), minlength=count + 1)[1:]
    filled = np.bincount(labels[mask != 0], minlength=count + 1)[1:]
    share = filled / np.maximum(whole, 1)
    large = whole * grid.cell_mm**2 >= MIN_PIECE_MM2
    if large.any():
        worst = int(np.argmin(np.where(large, share, np.inf))) + 1
    else:
        worst = int(np.argmax(whole - filled)) + 1
    rows, columns = np.nonzero((labels == worst) & (mask == 0))
    if not len(rows):
        return _Piece(1.0, _middle(part), count)
    x, y = float(columns.mean()), float(rows.mean())
    if labels[int(y), int(x)] != worst:  # gaps about a hole have their middle in it
        nearest = int(np.argmin((columns - x) ** 2 + (rows - y) ** 2))
        x, y = float(columns[nearest]), float(rows[nearest])
    place = (grid.left_mm + (x + 0.5) * grid.cell_mm, grid.front_mm + (y + 0.5) * grid.cell_mm)
    return _Piece(float(share[worst - 1]), place, count)


def _first_layer_speed(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    ground = _ground(subject)
    part = np.flatnonzero(ground.is_part)
    length = ground.length_mm[part]
    if not len(part) or length.sum() <= 0.0:
        return
    move = ground.beads.move[part]
    factor = subject.settings.column("speed_factor")[subject.settings.of_move[move]]
    speed = subject.moves.speed_mm_s[move] * np.where(np.isfinite(factor), factor, 1.0)
    order = np.argsort(speed, kind="stable")
    reached = np.cumsum(length[order])
    value = float(speed[order[np.searchsorted(reached, FAST_SHARE * reached[-1])]])
    if value <= limit:
        return
    fast = np.flatnonzero(speed > limit)
    share = float(length[fast].sum() / length.sum())
    fastest, bearable = told_apart(float(speed.max()), limit)
    first, number = int(move[fast[0]]), int(ground.layer[part[fast[0]]])
    here = part[fast[ground.layer[part[fast]] == number]]
    yield Finding(
        "first-layer-speed", rule.weigh(Severity.LOOK if value > MUCH_FASTER * limit else Severity.NOTE),
        f"{_much(share)} of the first layer is laid faster than {bearable} mm/s, up to {fastest} mm/s.",
        (line_of(subject, first),), number, _place(subject, _middle(ground.beads.where(here)), number), value, limit,
        "mm/s", "Watch the first layer, or have it laid slower: slow beads hold better.", first,
    )  # fmt: skip


def _much(share: float) -> str:
    """Return a share as a sentence begins with it; sums of float32 are exact to no more than 1e-9 of all."""
    text = share_text(share)
    return "All" if share > 1.0 - 1e-9 else text[:1].upper() + text[1:]


def _first_layer_height(subject: Subject, rule: Rule) -> Iterator[Outcome]:
    nozzle = subject.printer.nozzle_mm
    most, least = (rule.limit or 0.0) * nozzle, THIN_SHARE * nozzle
    ground = _ground(subject)
    for number in (np.flatnonzero(subject.layers.is_first) + 1).tolist():
        own = (ground.layer == number) & ground.is_part
        height = float(subject.layers.thickness_mm[number - 1])
        if not own.any() or least - FLAT_MM <= height <= most + FLAT_MM:
            continue  # a raft's foot is hold-down alone, and thick on purpose
        beads = ground.beads.where(own)
        move = int(beads.move[0])
        thick = height > most
        grave = height >= nozzle - FLAT_MM if thick else True
        measured, bound = told_apart(height, most if thick else least)
        how = f"more than {bound} mm ({rule.limit:g}" if thick else f"less than {bound} mm ({THIN_SHARE:g}"
        yield Finding(
            "first-layer-height", rule.weigh(Severity.LOOK if grave else Severity.NOTE),
            f"The first layer is {measured} mm thick, {how} of the nozzle's {nozzle:g} mm).",
            (line_of(subject, move),), number, _place(subject, _middle(beads), number), height / nozzle,
            rule.limit if thick else THIN_SHARE, "nozzle diameters",
            _THINNER if thick else _THICKER, move,
        )  # fmt: skip
        return


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
        f"every piece of at least {MIN_PIECE_MM2:g} mm2.",
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
