"""From areas to paths: loops, parallel lines, the order they are laid in, and arcs found again in chords."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import shapely
from shapely import affinity
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

Point = tuple[float, float]
Points = tuple[Point, ...]


def islands(area: BaseGeometry) -> list[Polygon]:
    """Return the separate areas, from front left to rear right, whatever order the library has."""
    found = [
        part for part in getattr(area, "geoms", [area]) if isinstance(part, Polygon) and part.area > 1e-6
    ]
    return sorted(found, key=lambda part: tuple(round(v, 3) for v in reversed(part.bounds[:2])))


def inset(area: BaseGeometry, by_mm: float) -> BaseGeometry:
    """Draw an area in by a distance (out, where negative), corners kept sharp."""
    return area.buffer(-by_mm, join_style="mitre", mitre_limit=3.0)


def loops(area: BaseGeometry, holes: bool = True) -> Iterator[Points]:
    """Return the closed edges of an area: outer ones counter-clockwise, holes clockwise, begun at the rear."""
    for island in islands(area):
        turned = orient(island.simplify(0.008))
        for ring in [turned.exterior, *(sorted(turned.interiors, key=lambda r: r.bounds) if holes else [])]:
            yield _begun_at_rear([(float(x), float(y)) for x, y in ring.coords[:-1]])


def _begun_at_rear(ring: list[Point]) -> Points:
    first = max(range(len(ring)), key=lambda i: (round(ring[i][1], 4), round(ring[i][0], 4)))
    return (*ring[first:], *ring[: first + 1])


def lines(area: BaseGeometry, angle_deg: float, spacing_mm: float) -> list[Points]:
    """Fill an area with parallel lines on a fixed grid, so that equal angles stand above one another."""
    if area.is_empty:
        return []
    turned = affinity.rotate(area, -angle_deg, origin=(0, 0))
    left, low, right, high = turned.bounds
    rows = range(math.ceil(low / spacing_mm), math.floor(high / spacing_mm) + 1)
    ruled = MultiLineString([[(left - 1, k * spacing_mm), (right + 1, k * spacing_mm)] for k in rows])
    cut = affinity.rotate(shapely.intersection(ruled, turned), angle_deg, origin=(0, 0))
    parts = [p for p in getattr(cut, "geoms", [cut]) if isinstance(p, LineString) and p.length > 0.3]
    return [_sorted_ends(part) for part in parts]


def _sorted_ends(part: LineString) -> Points:
    (ax, ay), (bx, by) = part.coords[0], part.coords[-1]
    return tuple(sorted([(float(ax), float(ay)), (float(bx), float(by))]))


def in_order(parts: list[Points], start: Point) -> list[Points]:
    """Order lines so that each begins near where the last one ended, turned round where needed."""
    left, here, ordered = sorted(parts), start, []
    while left:
        ends = [min(math.dist(here, p[0]), math.dist(here, p[-1])) for p in left]
        part = left.pop(min(range(len(ends)), key=lambda i: (round(ends[i], 6), i)))
        if math.dist(here, part[-1]) < math.dist(here, part[0]):
            part = part[::-1]
        ordered.append(part)
        here = part[-1]
    return ordered


def joined(parts: list[Points], within: BaseGeometry, reach_mm: float) -> list[Points]:
    """Join neighbouring lines into one path where the step from one to the next is short and stays inside."""
    roomy = within.buffer(0.1)
    result: list[Points] = []
    for part in parts:
        if result and math.dist(result[-1][-1], part[0]) <= reach_mm:
            step = LineString([result[-1][-1], part[0]])
            if roomy.covers(step):
                result[-1] = (*result[-1], *part)
                continue
        result.append(part)
    return result


def arcs(points: Points, tolerance_mm: float = 0.01) -> Iterator[tuple[Point, Point | None, bool]]:
    """Return a path as (end, centre, left): runs of at least four short chords of one circle become one arc.

    The centre is None for a straight piece. An arc turns by less than half a circle, so that rounding
    its centre cannot turn it inside out.
    """
    i = 0
    while i < len(points) - 1:
        best: tuple[int, Point] | None = None
        j = i + 3
        while j < len(points) and (centre := _circle(points[i : j + 1], tolerance_mm)):
            best = (j, centre)
            j += 1
        if best and best[0] >= i + 4:
            j, centre = best
            yield points[j], centre, _turns_left(points[i], points[i + 1], points[i + 2])
            i = j
        else:
            i += 1
            yield points[i], None, False


def _turns_left(a: Point, b: Point, c: Point) -> bool:
    return (b[0] - a[0]) * (c[1] - b[1]) > (b[1] - a[1]) * (c[0] - b[0])


def _circle(run: Points, tolerance_mm: float) -> Point | None:
    """Return the centre of the circle a run of chords lies on, or None."""
    (ax, ay), (bx, by), (cx, cy) = run[0], run[len(run) // 2], run[-1]
    twice = 2 * ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
    if abs(twice) < 1e-9:
        return None
    b2, c2 = (bx - ax) ** 2 + (by - ay) ** 2, (cx - ax) ** 2 + (cy - ay) ** 2
    centre = (ax + ((cy - ay) * b2 - (by - ay) * c2) / twice, ay + ((bx - ax) * c2 - (cx - ax) * b2) / twice)
    radius = math.dist(centre, run[0])
    if any(abs(math.dist(centre, p) - radius) > tolerance_mm for p in run):
        return None
    turns = [2 * math.asin(min(1.0, math.dist(p, q) / (2 * radius))) for p, q in pairwise(run)]
    left = _turns_left(*run[:3])
    same_way = all(_turns_left(*run[k : k + 3]) == left for k in range(len(run) - 2))
    return centre if same_way and max(turns) < math.radians(15) and sum(turns) < math.radians(175) else None
