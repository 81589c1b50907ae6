"""Theme: the shape. What is printed over air, too thin, or strung across open space, as `viewer.shape` measured it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final

import numpy as np

from viewer.checks.evidence import counted, line_of, tuned
from viewer.checks.extents import bead_run, box_of, measure_along
from viewer.checks.finding import Check, Finding, Judge, Outcome, Passed, Rule, Severity, with_rest
from viewer.checks.widths import unjudged
from viewer.layers.layers import SUPPORT, UNLABELLED
from viewer.numerals import told_apart
from viewer.program import Program
from viewer.read.moves import BEAD
from viewer.shape import USUAL_ANGLE_DEG, ShapeFigures
from viewer.shape.spots import BareTravel, Bridge, MidAirStart, Overhang, Spot, ThinPlace, Track, join_spots

SHAPE: Final = "the shape"
OVER_BELOW: Final = frozenset({"mid-air-start", "steep-overhang", "long-bridge"})
"""Checks that hold a layer against the one below: who looks at a finding of theirs wants to see both."""
MAX_FINDINGS: Final = 100
"""Places told of one check, the gravest first; the last says how many more there are."""
LARGE_START_MM2: Final = 5.0
"""A start in mid-air as large as this, with nothing further down either, is sure to fail."""
SMALL_START_MM2: Final = 5.0
SUPPORT_SHARE: Final = 0.01
MIN_OVERHANG_MM2: Final = 2.0
STEADY_LAYERS: Final = 3
FAR_MM: Final = 1.0
"""An overhang counts when it goes on for three layers, or reaches about two beads over in one."""
NEXT_MM: Final = 1.5
"""Overhangs of neighbouring layers this near are one: each lies beyond the last."""
MISSED_LAYERS: Final = 4
"""A strip of overhang that is narrower than a cell holds no cell's middle in this many layers at a time."""
BROAD_OVERHANG_MM2: Final = 20.0
STEEP_DEG: Final = 55.0
MIN_THIN_MM: Final = 2.0
MIN_THIN_LAYERS: Final = 10
SLENDER: Final = 8.0
"""Height over thickness from which a thin wall is to be looked at; a post from half of it."""
MANY_WAYS: Final = 10


def overhang_angle_deg(rules: Mapping[str, Rule]) -> float:
    """Return the angle beyond which overhang is measured: the limit of `steep-overhang`, where that check is on."""
    rule = rules.get("steep-overhang")
    return USUAL_ANGLE_DEG if rule is None or rule.limit is None else rule.limit


def _with_doubt(slug: str, find: Callable[[Program, ShapeFigures, Rule], Iterator[Outcome]]) -> Judge:
    """Return a check's function that also says where shapes could not be judged."""

    def judge(program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
        yield from find(program, shape, rule)
        yield from unjudged(program, slug)

    return judge


def _place(program: Program, spot: Spot, xy: tuple[float, float] | None = None) -> tuple[float, float, float]:
    x, y = xy or spot.place_mm
    return tuned((x, y, float(program.layers.height_mm[spot.layer - 1])))


def _lines(program: Program, spot: Spot) -> tuple[int, ...]:
    first, last = line_of(program, spot.move), line_of(program, spot.last_move)
    return (first,) if first == last else (first, last)


def _middle(spots: Sequence[Spot]) -> Spot:
    """Return the middle one, the lower of two."""
    return spots[(len(spots) - 1) // 2]


def _starts(program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
    least = rule.limit or 0.0
    found = sorted((spot for spot in shape.starts if spot.area_mm2 >= least), key=lambda spot: -spot.area_mm2)
    yield from with_rest(
        [_start(program, start, least, rule) for start in found[:MAX_FINDINGS]], len(found), "place"
    )
    if not found:
        where = counted(len(program.layers), "layer")
        yield Passed(
            "mid-air-start",
            f"In {where} every piece of {least:g} mm2 or more begins on something.",
            f"Every piece begins on something, in {where}",
        )


def _start(program: Program, start: MidAirStart, least: float, rule: Rule) -> Finding:
    own = _start_severity(program, start)
    beside = "only one narrow place beside it holds it" if start.is_held else "nothing beside it"
    doubt = (
        "; it is small, and may be support, as no comment says what beads are for"
        if own is Severity.NOTE
        else ""
    )
    return Finding(
        slug="mid-air-start",
        severity=rule.weigh(own),
        sentence=f"In layer {start.layer} a piece of {start.area_mm2:.1f} mm2 begins in mid-air: nothing lies below it "
        f"and {beside}{doubt}.",
        lines=_lines(program, start),
        layer=start.layer,
        place_mm=_place(program, start),
        value=start.area_mm2,
        limit=least,
        unit="mm2",
        remedy="Have it made again with support below this place, or with the part turned.",
        move=start.move,
        extents=(box_of(start),),
    )


def _start_severity(program: Program, start: MidAirStart) -> Severity:
    """Only what is large, with nothing further down, and known to be part by the program's comments is certain.

    Where roles are guessed, a small piece may be support's, if there is any.
    """
    told = program.roles_from == "comments"
    if not told and start.area_mm2 < SMALL_START_MM2 and _may_have_support(program):
        return Severity.NOTE
    certain = start.is_clear and told and not program.layers.spiral[start.layer - 1]
    return Severity.STOP if certain and start.area_mm2 >= LARGE_START_MM2 else Severity.LOOK


def _may_have_support(program: Program) -> bool:
    """Whether more than `SUPPORT_SHARE` of the path is support, or unlabelled, as guessed support is."""
    bead = program.moves.kind == BEAD
    support = bead & np.isin(program.roles, (SUPPORT, UNLABELLED))
    length = program.moves.length_mm
    return bool(length[support].sum(dtype=np.float64) > SUPPORT_SHARE * length[bead].sum(dtype=np.float64))


def _overhangs(program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
    tracks = [track for track in join_spots(shape.overhangs, NEXT_MM, MISSED_LAYERS) if _counts(track)]
    tracks.sort(key=lambda track: -_area(track))
    found = [_overhang(program, track, shape.angle_deg, rule) for track in tracks[:MAX_FINDINGS]]
    yield from with_rest(found, len(tracks), "place")
    if not tracks:
        most, limit = float(shape.overhang_mm2.max(initial=0.0)), f"{shape.angle_deg:g} degrees from upright"
        small = f"Beyond {limit} lie at most {most:.1f} mm2 in a layer, too little at any place to count"
        yield Passed(
            "steep-overhang", f"{small if most >= 0.05 else f'The part leans out by {limit} at most'}."
        )


def _area(track: Track[Overhang]) -> float:
    return sum(spot.area_mm2 for spot in track.spots)


def _counts(track: Track[Overhang]) -> bool:
    far = max(spot.reach_mm for spot in track.spots) >= FAR_MM
    return _area(track) >= MIN_OVERHANG_MM2 and (track.layers >= STEADY_LAYERS or far)


def _overhang(program: Program, track: Track[Overhang], limit: float, rule: Rule) -> Finding:
    """Say how steep a track is: the angle of its middle layer by area, so that a single step does not decide."""
    by_angle = sorted(track.spots, key=lambda spot: spot.angle_deg)
    half, angle = 0.5 * _area(track), by_angle[-1].angle_deg
    for spot in by_angle:
        half -= spot.area_mm2
        if half <= 0.0:
            angle = spot.angle_deg
            break
    worst = max(spot.area_mm2 for spot in track.spots)
    alike = [spot for spot in track.spots if spot.area_mm2 >= 0.25 * worst]
    middle = 0.5 * (alike[0].layer + alike[-1].layer) - 0.1  # the lower of two
    place = min(alike, key=lambda spot: abs(spot.layer - middle))
    area, reach = _area(track), max(spot.reach_mm for spot in track.spots)
    grave = (reach >= FAR_MM and worst >= MIN_OVERHANG_MM2) or (
        area >= BROAD_OVERHANG_MM2 and angle >= STEEP_DEG
    )
    where = (
        f"layer {track.first_layer}"
        if track.layers == 1
        else f"layers {track.first_layer} to {track.last_layer}"
    )
    return Finding(
        slug="steep-overhang",
        severity=rule.weigh(Severity.LOOK if grave else Severity.NOTE),
        sentence=f"In {where} the part leans out at {angle:.0f} degrees from upright with nothing below: {area:.1f} mm2 "
        f"in all beyond {limit:g} degrees, up to {reach:.2f} mm over the layer below.",
        lines=_lines(program, place),
        layer=place.layer,
        place_mm=_place(program, place),
        value=angle,
        limit=limit,
        unit="degrees from upright",
        remedy="See whether support is wanted there, or whether the part prints better turned or slower with more fan.",
        move=place.move,
        extents=tuple(box_of(spot) for spot in track.spots if spot.layer == place.layer),
    )


def _bridges(program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    tracks = join_spots((spot for spot in shape.bridges if spot.span_mm > limit), margin_mm=1.0)
    tracks.sort(key=lambda track: -max(spot.span_mm for spot in track.spots))
    found = [_bridge(program, track, limit, rule) for track in tracks[:MAX_FINDINGS]]
    yield from with_rest(found, len(tracks), "place")
    if not tracks:
        longest, borne = told_apart(float(shape.bridge_mm.max(initial=0.0)), limit)
        what = f"The longest bridge crosses {longest} mm of air" if longest != "0" else "No bead crosses air"
        yield Passed("long-bridge", f"{what}; limit {borne} mm.")


def _bridge(program: Program, track: Track[Bridge], limit: float, rule: Rule) -> Finding:
    own = [spot for spot in track.spots if spot.layer == track.first_layer]
    span = max(spot.span_mm for spot in own)
    spot = max(own, key=lambda spot: spot.area_mm2)
    place_mm = _place(program, spot, _balanced(own))
    return Finding(
        slug="long-bridge",
        severity=rule.weigh(Severity.LOOK),
        sentence=f"In layer {spot.layer} beads cross {span:.1f} mm of air between two ends.",
        lines=_lines(program, spot),
        layer=spot.layer,
        place_mm=place_mm,
        value=span,
        limit=limit,
        unit="mm",
        remedy="See whether support is wanted below, or whether a sagging underside does no harm there.",
        move=spot.move,
        extents=(*map(box_of, own), measure_along(program, spot.move, place_mm, span)),
    )


def _balanced(spots: Sequence[Bridge]) -> tuple[float, float]:
    """Return the middle of several bridges of one layer, by area."""
    total = sum(spot.area_mm2 for spot in spots)
    x, y = (sum(spot.area_mm2 * spot.place_mm[axis] for spot in spots) / total for axis in (0, 1))
    return x, y


def _thin_features(program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    doubt = 0.5 * shape.cell_mm  # counted in cells a wall comes out up to a cell too thin
    thin = [spot for spot in shape.thin_places if _thickness(spot) + doubt < limit * spot.bead_mm]
    tracks = [track for track in join_spots(thin) if _goes_on(program, track)]
    tracks.sort(key=lambda track: -_slenderness(program, track))
    found = [_thin_feature(program, track, limit, rule) for track in tracks[:MAX_FINDINGS]]
    yield from with_rest(found, len(tracks), "place")
    if not tracks and not program.layers.spiral.all():  # a spiral is a single bead by design
        but = f", but for less than {MIN_THIN_LAYERS} layers or {MIN_THIN_MM:g} mm of height" if thin else ""
        yield Passed("thin-feature", f"Walls and posts are {limit:g} bead widths thick or more{but}.")


def _height(program: Program, track: Track[ThinPlace]) -> float:
    heights, thickness = program.layers.height_mm, program.layers.thickness_mm
    bottom = float(heights[track.first_layer - 1] - thickness[track.first_layer - 1])
    return float(heights[track.last_layer - 1]) - bottom


def _goes_on(program: Program, track: Track[ThinPlace]) -> bool:
    return track.layers >= MIN_THIN_LAYERS and _height(program, track) >= MIN_THIN_MM


def _slenderness(program: Program, track: Track[ThinPlace]) -> float:
    spot = track.spots[(len(track.spots) - 1) // 2]
    return _height(program, track) / _thickness(spot)


def _thickness(spot: ThinPlace) -> float:
    """Return how thick a place is: cells make a single bead up to a cell thinner than it is."""
    return max(spot.thickness_mm, spot.bead_mm)


def _thin_feature(program: Program, track: Track[ThinPlace], limit: float, rule: Rule) -> Finding:
    spot = track.spots[(len(track.spots) - 1) // 2]
    thickness = _thickness(spot)
    slender = _slenderness(program, track) >= (0.5 * SLENDER if spot.is_post else SLENDER)
    what = "A post" if spot.is_post else f"A wall about {spot.length_mm:.0f} mm long"
    return Finding(
        slug="thin-feature",
        severity=rule.weigh(Severity.LOOK if slender else Severity.NOTE),
        sentence=f"{what} is only {thickness:.2f} mm thick ({thickness / spot.bead_mm:.1f} bead widths) from layer "
        f"{track.first_layer} to {track.last_layer}, {_height(program, track):.1f} mm high.",
        lines=_lines(program, spot),
        layer=spot.layer,
        place_mm=_place(program, spot),
        value=thickness / spot.bead_mm,
        limit=limit,
        unit="bead widths",
        remedy="See whether it is meant to be so thin: it bends under the nozzle, and breaks easily.",
        move=spot.move,
        extents=(
            box_of(spot),
            measure_along(program, spot.move, _place(program, spot), thickness, across=True),
        ),
    )


def _bare_travel(program: Program, shape: ShapeFigures, rule: Rule) -> Iterator[Outcome]:
    limit = rule.limit or 0.0
    ways = [way for way in shape.bare_travels if way.open_mm > limit]
    if not ways:
        far, borne = told_apart(float(shape.open_mm.max(initial=0.0)), limit)
        yield Passed(
            "bare-travel",
            f"Without retraction the nozzle crosses {far} mm of open space at most; limit {borne} mm.",
        )
        return
    longest = max(way.open_mm for way in ways)
    layer = _middle([way for way in ways if way.open_mm >= 0.75 * longest]).layer
    way = max((way for way in ways if way.layer == layer), key=lambda way: way.open_mm)
    yield Finding(
        slug="bare-travel",
        severity=rule.weigh(Severity.LOOK if len(ways) >= MANY_WAYS else Severity.NOTE),
        sentence=f"In layer {layer} the nozzle travels {way.open_mm:.0f} mm over open space without pulling filament "
        f"back{_others(ways, longest)}.",
        lines=_lines(program, way),
        layer=layer,
        place_mm=_place(program, way),
        value=way.open_mm,
        limit=limit,
        unit="mm",
        remedy="Expect strings there; have retraction switched on for such travel, if the filament bears it.",
        move=way.move,
        extents=bead_run(program, way.move, way.last_move),
    )


def _others(ways: Sequence[BareTravel], longest: float) -> str:
    if len(ways) == 1:
        return ""
    layers = len({way.layer for way in ways})
    if layers == 1:
        return f", one of {len(ways):,} such travels there"
    return f", one of {len(ways):,} such travels in {counted(layers, 'layer')} (the longest {longest:.0f} mm)"


_CELLS: Final = (
    "Areas are counted in cells of 0.1 to 0.2 mm (more on plates above 283 mm square). Where the program has no "
    "comments, roles are guessed from shape: what lies outside of every loop is taken as support, and single loops "
    "that follow each other inwards with like gaps as infill."
)

SHAPE_CHECKS: Final = (
    Check(
        slug="mid-air-start", theme=SHAPE, title="Starts in mid-air",
        looks_at="Pieces of a layer that touch nothing: no part, infill, support or hold-down below them (widened by "
        "the layer's thickness times the tangent of the overhang angle), nor the plate up to two thicknesses below them, "
        "and nothing beside them; pieces that reach 10 mm or more from one narrow place that holds them count too. "
        "A stop from 5 mm2 on where comments tell the roles; a note below that where they are guessed and "
        "the piece may be support's.",
        why="Filament laid on nothing is dragged along by the nozzle; everything above is lost, and a knot can pull "
        "the whole part off the plate.",
        what_to_do="Have the program made again with support below the place, or with the part turned.",
        cannot_see="A piece over a gap of one layer counts as carried: the bead sinks on what is below. "
        "How well what carries it will hold is not checked. " + _CELLS,
        severity=Severity.STOP, limit=0.5, unit="mm2", judge=_with_doubt("mid-air-start", _starts),
    ),
    Check(
        slug="steep-overhang", theme=SHAPE, title="Steep overhang",
        looks_at="What of a layer's outline and solid beads reaches further beyond the layer below than its thickness "
        "times the tangent of the angle, and is neither a bridge held at both ends nor a channel up to four beads wide; "
        "it must go on for three layers or reach 1 mm over, and make 2 mm2 in all. A note, unless it makes 20 mm2 at "
        "55 degrees or reaches 1 mm over at once.",
        why="A bead that lies less than half on another droops or curls up, and the nozzle can catch on it.",
        what_to_do="Look at the place: support, another way up, more fan, or nothing if its looks do not matter.",
        cannot_see="Fan and heat decide how steep is too steep. Infill is not looked at, nor what lies over the "
        "hollows that infill divides; over other hollows within inner loops less than 20 mm2 is left out. What begins up "
        "to two thicknesses above the plate is not looked at. " + _CELLS,
        severity=Severity.LOOK, limit=USUAL_ANGLE_DEG, unit="degrees from upright",
        judge=_with_doubt("steep-overhang", _overhangs),
    ),
    Check(
        slug="long-bridge", theme=SHAPE, title="Long bridge",
        looks_at="Beads that cross air straight with both ends held: the longest span, measured along the bead. Beads "
        "whose middle lies within 1.5 bead widths of an edge that carries hang on that edge: they are no bridge.",
        why="A bridge sags with its length; a long one hangs in loops or tears.",
        what_to_do="See whether support is wanted below, or whether a sagging underside does no harm.",
        cannot_see="Fan, speed and filament decide how far a bridge holds. Over the hollows that infill divides "
        "bridges are not looked at. " + _CELLS,
        severity=Severity.LOOK, limit=10.0, unit="mm", judge=_with_doubt("long-bridge", _bridges),
    ),
    Check(
        slug="thin-feature", theme=SHAPE, title="Thin wall or post",
        looks_at="Places where the part, measured across its loops, is thinner than this many bead widths for at "
        "least ten layers and 2 mm of height, and 2 mm long unless it is a post. "
        "Hollows that infill divides count as part.",
        why="A wall of a single bead bends away under the nozzle while it is printed and breaks easily afterwards.",
        what_to_do="See whether it is meant to be so thin; if not, have the wall made of two beads or more.",
        cannot_see="Spirals are a single bead by design and are not looked at. Where the program has no comments, "
        "single lines that close no loop are taken as support and are not looked at. " + _CELLS,
        severity=Severity.LOOK, limit=1.5, unit="bead widths", judge=_with_doubt("thin-feature", _thin_features),
    ),
    Check(
        slug="bare-travel", theme=SHAPE, title="Travel without retraction",
        looks_at="Travel, before which no filament was pulled back, that crosses open space: neither beads of "
        "the layer nor hollows that infill divides.",
        why="The nozzle oozes while it travels and leaves a string or a blob.",
        what_to_do="Have retraction switched on for such travel, if the filament bears it.",
        cannot_see="Filaments ooze differently. The way from the purge line to the part is left out, and so is travel on "
        "which the tool changes. " + _CELLS,
        severity=Severity.LOOK, limit=10.0, unit="mm", judge=_bare_travel,
    ),
)  # fmt: skip
