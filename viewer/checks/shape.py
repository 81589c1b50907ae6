"""Theme: the shape. What is printed over air, too thin, or strung across open space, measured on drawn layers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from viewer.checks.evidence import counted, line_of, tuned
from viewer.checks.finding import Check, Finding, NotChecked, Outcome, Rule, Severity, Watch, with_rest
from viewer.checks.spots import BareWay, Bridge, Overhang, ShapeFigures, Spot, Start, Thin, Track, join_spots
from viewer.checks.subject import Subject
from viewer.checks.walk import USUAL_ANGLE_DEG, walk_layers

SHAPE: Final = "the shape"
MAX_FINDINGS: Final = 5
"""Findings given of one check, the gravest places first; the last says how many more there are."""
LARGE_START_MM2: Final = 5.0
"""A start in mid-air as large as this, with nothing further down either, is sure to fail."""
SMALL_START_MM2: Final = 5.0
MIN_OVERHANG_MM2: Final = 2.0
STEADY_LAYERS: Final = 3
FAR_MM: Final = 1.0
"""An overhang counts when it goes on for three layers, or reaches about two beads over in one."""
NEXT_MM: Final = 1.5
"""Overhangs of neighbouring layers this near are one: each lies beyond the last."""
MISSED_LAYERS: Final = 4
"""A strip of overhang that is narrower than a cell holds no cell's middle in so many layers at a time."""
BROAD_OVERHANG_MM2: Final = 20.0
STEEP_DEG: Final = 55.0
MIN_THIN_MM: Final = 2.0
MIN_THIN_LAYERS: Final = 10
SLENDER: Final = 8.0
"""Height over thickness from which a thin wall is to be looked at; a post from half of it."""
MANY_WAYS: Final = 10


def _sweep(subject: Subject, rules: Mapping[str, Rule], watch: Watch) -> Iterator[Outcome]:
    """Walk over the layers once for all checks of the shape that are on."""
    overhang = rules.get("steep-overhang")
    angle = overhang.limit if overhang is not None and overhang.limit is not None else USUAL_ANGLE_DEG
    shape = walk_layers(subject, angle, watch)
    finders = {
        "mid-air-start": _starts, "steep-overhang": _overhangs, "long-bridge": _bridges,
        "thin-feature": _thin_features, "bare-travel": _bare_travel,
    }  # fmt: skip
    for slug, find in finders.items():
        if slug in rules:
            yield from find(subject, shape, rules[slug])
            if shape.doubtful and slug != "bare-travel":
                yield _doubtful(subject, slug, shape.doubtful)


def _doubtful(subject: Subject, slug: str, count: int) -> NotChecked:
    total = counted(len(subject.layers), "layer")
    return NotChecked(
        slug,
        f"{count:,} of {total} not checked: their beads come out wider or narrower than a "
        f"{subject.printer.nozzle_mm:g} mm nozzle lays, so that their shape is not known; "
        "see whether filament and nozzle on the cards are right.",
    )


def _place(subject: Subject, spot: Spot, xy: tuple[float, float] | None = None) -> tuple[float, float, float]:
    x, y = xy or spot.place_mm
    return tuned((x, y, float(subject.layers.height_mm[spot.layer - 1])))


def _lines(subject: Subject, spot: Spot) -> tuple[int, ...]:
    first, last = line_of(subject, spot.move), line_of(subject, spot.last_move)
    return (first,) if first == last else (first, last)


def _middle(spots: Sequence[Spot]) -> Spot:
    """Return the middle one, the lower of two."""
    return spots[(len(spots) - 1) // 2]


def _starts(subject: Subject, shape: ShapeFigures, rule: Rule) -> Iterator[Finding]:
    least = rule.limit or 0.0
    found = sorted((spot for spot in shape.starts if spot.area_mm2 >= least), key=lambda spot: -spot.area_mm2)
    yield from with_rest(
        [_start(subject, start, least, rule) for start in found[:MAX_FINDINGS]], len(found), "place"
    )


def _start(subject: Subject, start: Start, least: float, rule: Rule) -> Finding:
    return Finding(
        "mid-air-start", rule.weigh(_start_severity(subject, start)),
        f"In layer {start.layer} a piece of {start.area_mm2:.1f} mm2 begins in mid-air: nothing lies below it "
        "and nothing beside it.",
        _lines(subject, start), start.layer, _place(subject, start), start.area_mm2, least, "mm2",
        "Have it made again with support below this place, or with the part turned.", start.move,
    )  # fmt: skip


def _start_severity(subject: Subject, start: Start) -> Severity:
    """Only what is large, with nothing further down, and known to be part by the program's comments is certain.

    Where roles are guessed, a small piece may be support's.
    """
    told = subject.roles_from == "comments"
    if not told and start.area_mm2 < SMALL_START_MM2:
        return Severity.NOTE
    certain = start.is_clear and told and not subject.layers.spiral[start.layer - 1]
    return Severity.STOP if certain and start.area_mm2 >= LARGE_START_MM2 else Severity.LOOK


def _overhangs(subject: Subject, shape: ShapeFigures, rule: Rule) -> Iterator[Finding]:
    tracks = [track for track in join_spots(shape.overhangs, NEXT_MM, MISSED_LAYERS) if _counts(track)]
    tracks.sort(key=lambda track: -_area(track))
    found = [_overhang(subject, track, shape.angle_deg, rule) for track in tracks[:MAX_FINDINGS]]
    yield from with_rest(found, len(tracks), "place")


def _area(track: Track[Overhang]) -> float:
    return sum(spot.area_mm2 for spot in track.spots)


def _counts(track: Track[Overhang]) -> bool:
    far = max(spot.reach_mm for spot in track.spots) >= FAR_MM
    return _area(track) >= MIN_OVERHANG_MM2 and (track.layers >= STEADY_LAYERS or far)


def _overhang(subject: Subject, track: Track[Overhang], limit: float, rule: Rule) -> Finding:
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
        "steep-overhang", rule.weigh(Severity.LOOK if grave else Severity.NOTE),
        f"In {where} the part leans out at {angle:.0f} degrees from upright with nothing below: {area:.1f} mm2 in "
        f"all beyond {limit:g} degrees, up to {reach:.2f} mm over the layer below.",
        _lines(subject, place), place.layer, _place(subject, place), angle, limit, "degrees from upright",
        "See whether support is wanted there, or whether the part prints better turned or slower with more fan.",
        place.move,
    )  # fmt: skip


def _bridges(subject: Subject, shape: ShapeFigures, rule: Rule) -> Iterator[Finding]:
    limit = rule.limit or 0.0
    tracks = join_spots((spot for spot in shape.bridges if spot.span_mm > limit), margin_mm=1.0)
    tracks.sort(key=lambda track: -max(spot.span_mm for spot in track.spots))
    found = [_bridge(subject, track, limit, rule) for track in tracks[:MAX_FINDINGS]]
    yield from with_rest(found, len(tracks), "place")


def _bridge(subject: Subject, track: Track[Bridge], limit: float, rule: Rule) -> Finding:
    own = [spot for spot in track.spots if spot.layer == track.first_layer]
    span = max(spot.span_mm for spot in own)
    spot = max(own, key=lambda spot: spot.area_mm2)
    return Finding(
        "long-bridge", rule.weigh(Severity.LOOK),
        f"In layer {spot.layer} beads cross {span:.1f} mm of air between two ends.",
        _lines(subject, spot), spot.layer, _place(subject, spot, _balanced(own)), span, limit, "mm",
        "See whether support is wanted below, or whether a sagging underside does no harm there.", spot.move,
    )  # fmt: skip


def _balanced(spots: Sequence[Bridge]) -> tuple[float, float]:
    """Return the middle of several bridges of one layer, by area."""
    total = sum(spot.area_mm2 for spot in spots)
    x, y = (sum(spot.area_mm2 * spot.place_mm[axis] for spot in spots) / total for axis in (0, 1))
    return x, y


def _thin_features(subject: Subject, shape: ShapeFigures, rule: Rule) -> Iterator[Finding]:
    limit = rule.limit or 0.0
    doubt = 0.5 * shape.cell_mm  # counted in cells a wall comes out up to a cell too thin
    thin = (spot for spot in shape.thins if _thickness(spot) + doubt < limit * spot.bead_mm)
    tracks = [track for track in join_spots(thin) if _goes_on(subject, track)]
    tracks.sort(key=lambda track: -_slenderness(subject, track))
    found = [_thin_feature(subject, track, limit, rule) for track in tracks[:MAX_FINDINGS]]
    yield from with_rest(found, len(tracks), "place")


def _height(subject: Subject, track: Track[Thin]) -> float:
    heights, thickness = subject.layers.height_mm, subject.layers.thickness_mm
    bottom = float(heights[track.first_layer - 1] - thickness[track.first_layer - 1])
    return float(heights[track.last_layer - 1]) - bottom


def _goes_on(subject: Subject, track: Track[Thin]) -> bool:
    return track.layers >= MIN_THIN_LAYERS and _height(subject, track) >= MIN_THIN_MM


def _slenderness(subject: Subject, track: Track[Thin]) -> float:
    spot = track.spots[(len(track.spots) - 1) // 2]
    return _height(subject, track) / _thickness(spot)


def _thickness(spot: Thin) -> float:
    """Return how thick a place is: cells make a single bead up to a cell thinner than it is."""
    return max(spot.thickness_mm, spot.bead_mm)


def _thin_feature(subject: Subject, track: Track[Thin], limit: float, rule: Rule) -> Finding:
    spot = track.spots[(len(track.spots) - 1) // 2]
    thickness = _thickness(spot)
    slender = _slenderness(subject, track) >= (0.5 * SLENDER if spot.is_post else SLENDER)
    what = "A post" if spot.is_post else f"A wall about {spot.length_mm:.0f} mm long"
    return Finding(
        "thin-feature", rule.weigh(Severity.LOOK if slender else Severity.NOTE),
        f"{what} is only {thickness:.2f} mm thick ({thickness / spot.bead_mm:.1f} bead widths) from layer "
        f"{track.first_layer} to {track.last_layer}, {_height(subject, track):.1f} mm high.",
        _lines(subject, spot), spot.layer, _place(subject, spot), thickness / spot.bead_mm, limit, "bead widths",
        "See whether it is meant to be so thin: it bends under the nozzle, and breaks easily.", spot.move,
    )  # fmt: skip


def _bare_travel(subject: Subject, shape: ShapeFigures, rule: Rule) -> Iterator[Finding]:
    limit = rule.limit or 0.0
    ways = [way for way in shape.bare_ways if way.open_mm > limit]
    if not ways:
        return
    longest = max(way.open_mm for way in ways)
    layer = _middle([way for way in ways if way.open_mm >= 0.75 * longest]).layer
    way = max((way for way in ways if way.layer == layer), key=lambda way: way.open_mm)
    yield Finding(
        "bare-travel", rule.weigh(Severity.LOOK if len(ways) >= MANY_WAYS else Severity.NOTE),
        f"In layer {layer} the nozzle travels {way.open_mm:.0f} mm over open space without pulling filament "
        f"back{_others(ways, longest)}.",
        _lines(subject, way), layer, _place(subject, way), way.open_mm, limit, "mm",
        "Expect strings there; have retraction switched on for such travel, if the filament bears it.", way.move,
    )  # fmt: skip


def _others(ways: Sequence[BareWay], longest: float) -> str:
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
        "the layer's thickness times the tangent of the overhang angle), and nothing beside them. A stop from 5 mm2 on "
        "where comments tell the roles; a note below that where they are guessed.",
        why="Filament laid on nothing is dragged along by the nozzle; everything above is lost, and a knot can pull "
        "the whole part off the plate.",
        what_to_do="Have the program made again with support below the place, or with the part turned.",
        cannot_see="A piece over a gap of one layer counts as carried: the bead sinks on what is below. "
        "How well what carries it will hold is not checked. " + _CELLS,
        severity=Severity.STOP, limit=0.5, unit="mm2", sweep=_sweep,
    ),
    Check(
        slug="steep-overhang", theme=SHAPE, title="Steep overhang",
        looks_at="What of a layer's outline and solid beads reaches further beyond the layer below than its thickness "
        "times the tangent of the angle, and is not a bridge held at both ends; it must go on for three layers or "
        "reach 1 mm over, and make 2 mm2 in all. A note, unless it makes 20 mm2 at 55 degrees or reaches 1 mm over "
        "at once.",
        why="A bead that lies less than half on another droops or curls up, and the nozzle can catch on it.",
        what_to_do="Look at the place: support, another way up, more fan, or nothing if its looks do not matter.",
        cannot_see="Fan and heat decide how steep is too steep. Infill is not looked at, nor what lies over the "
        "hollows that infill divides. " + _CELLS,
        severity=Severity.LOOK, limit=USUAL_ANGLE_DEG, unit="degrees from upright", sweep=_sweep,
    ),
    Check(
        slug="long-bridge", theme=SHAPE, title="Long bridge",
        looks_at="Beads that cross air straight with both ends held: the longest span, measured along the bead.",
        why="A bridge sags with its length; a long one hangs in loops or tears.",
        what_to_do="See whether support is wanted below, or whether a sagging underside does no harm.",
        cannot_see="Fan, speed and filament decide how far a bridge holds. Over the hollows that infill divides "
        "bridges are not looked at. " + _CELLS,
        severity=Severity.LOOK, limit=10.0, unit="mm", sweep=_sweep,
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
        severity=Severity.LOOK, limit=1.5, unit="bead widths", sweep=_sweep,
    ),
    Check(
        slug="bare-travel", theme=SHAPE, title="Travel without retraction",
        looks_at="Travel, before which no filament was pulled back, that crosses open space: neither beads of "
        "the layer nor hollows that infill divides.",
        why="The nozzle oozes while it travels and leaves a string or a blob.",
        what_to_do="Have retraction switched on for such travel, if the filament bears it.",
        cannot_see="Filaments ooze differently. The way from the purge line to the part is left out, and so is travel on "
        "which the tool changes. " + _CELLS,
        severity=Severity.LOOK, limit=10.0, unit="mm", sweep=_sweep,
    ),
)  # fmt: skip
