"""The layer as SVG in mm, its beads as true vectors; no Qt."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

import numpy as np

from viewer.beads.draw import UNKNOWN_INDEX
from viewer.beads.section import Beads
from viewer.cards.printer import Plate
from viewer.shown.pictures.bead_values import round_step
from viewer.shown.pictures.choices import Shown
from viewer.shown.pictures.colours import Rgb, ui
from viewer.shown.pictures.layer_picture import laid_by, later_than
from viewer.shown.pictures.legend_texts import key_text, swatch_text, tick_texts
from viewer.shown.pictures.scene import Cells, ColourKey, Cut, Scene, Segments
from viewer.written import write_whole

MARGIN = 0.02
"""Room about the picture, as a share of its width."""


TEXT = 0.022
"""Height of the text, as a share of the picture's width."""


PLACES_MM = 1e-3


@dataclass(frozen=True, slots=True)
class SeenArea:
    """A rectangle on the plate, in mm."""

    left: float
    front: float
    width: float
    depth: float

    @property
    def right(self) -> float:
        """Its right side."""
        return self.left + self.width

    @property
    def back(self) -> float:
        """Its rear side."""
        return self.front + self.depth


@dataclass(frozen=True, slots=True)
class Vectors:
    """What an SVG shows."""

    title: str
    scene: Scene
    cut: Cut
    shown: frozenset[Shown]
    area: SeenArea
    """The part of the plate that is seen."""


def save_svg(path: str | os.PathLike[str], vectors: Vectors, plate: Plate) -> None:
    """Write the layer as SVG in mm: every bead a line of its true width with round ends.

    Raises
    ------
    OutputError
        It could not be written; nothing was left half-written.
    """
    write_whole(path, ["\n".join(svg_lines(vectors, plate))])


def svg_lines(vectors: Vectors, plate: Plate) -> Iterator[str]:
    """Return the lines of the SVG. Its user unit is the mm; Y is turned by one group, as SVG counts downwards."""
    area, scene = vectors.area, vectors.scene
    colours = ui(scene.colours.dark)
    text = TEXT * area.width
    rows = 1 if scene.colours.key.span is not None else len(scene.colours.key.swatches)
    below = (rows + 2.0) * 1.5 * text
    width, height = area.width * (1 + 2 * MARGIN), area.depth + 2.4 * text + below
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.3f}mm" height="{height:.3f}mm" '
        f'viewBox="0 0 {width:.3f} {height:.3f}" font-family="sans-serif" font-size="{text:.3f}">'
    )
    yield f"<title>{escape(vectors.title)}</title>"
    yield f"<desc>{escape(key_text(scene.colours.key))}</desc>"
    yield f'<rect width="100%" height="100%" fill="{_hex(colours["panel"])}"/>'
    left, top = MARGIN * area.width, 2.0 * text
    yield f'<text x="{left:.3f}" y="{1.3 * text:.3f}" fill="{_hex(colours["text"])}">{escape(vectors.title)}</text>'
    seen = f'x="{left:.3f}" y="{top:.3f}" width="{area.width:.3f}" height="{area.depth:.3f}"'
    yield f'<rect {seen} fill="{_hex(colours["plate"])}"/>'
    yield f'<defs><clipPath id="seen"><rect {seen}/></clipPath></defs>'
    turned = f"translate({left - area.left:.4f} {top + area.back:.4f}) scale(1 -1)"
    yield f'<g clip-path="url(#seen)"><g transform="{turned}">'
    yield from _plate_lines(vectors, plate)
    yield from _bead_lines(vectors)
    yield from _mark_lines(vectors)
    yield "</g></g>"
    yield from _scale_bar(area, left, top + area.depth + 1.2 * text, text, colours)
    yield from _key_lines(scene.colours.key, left, top + area.depth + 2.7 * text, text, colours["text"])
    yield "</svg>\n"


def _plate_lines(vectors: Vectors, plate: Plate) -> Iterator[str]:
    if "plate" not in vectors.shown:
        return
    pen = f'fill="none" stroke="{_hex(ui(vectors.scene.colours.dark)["edge"])}" stroke-width="{_pen(vectors):.4f}"'
    if plate.shape == "circle" and plate.diameter_mm is not None:
        yield f'<circle cx="{plate.left_mm:g}" cy="{plate.front_mm:g}" r="{plate.diameter_mm / 2:g}" {pen}/>'
    elif plate.shape == "rectangle" and plate.width_mm is not None and plate.depth_mm is not None:
        yield (
            f'<rect x="{plate.left_mm:g}" y="{plate.front_mm:g}" width="{plate.width_mm:g}" '
            f'height="{plate.depth_mm:g}" {pen}/>'
        )


def _pen(vectors: Vectors) -> float:
    """Return the width of thin lines in mm."""
    return vectors.area.width / 800.0


def _bead_lines(vectors: Vectors) -> Iterator[str]:
    """Return the layer below, then what is laid later, then what is laid, joined where ends meet."""
    scene, cut = vectors.scene, vectors.cut
    colours = ui(scene.colours.dark)
    if scene.colours.cells is not None:
        yield from _cell_lines(scene.colours.cells, scene)
        return
    yield '<g fill="none" stroke-linecap="round" stroke-linejoin="round">'
    if "below" in vectors.shown:
        yield from _paths(_within(scene.below, vectors.area), None, colours["shadow"], None)
    if not cut.whole:
        yield from _paths(_within(later_than(scene, cut), vectors.area), None, colours["later"], None)
    laid, index = laid_by(scene, cut)
    seen = _seen(laid, vectors.area)
    yield from _paths(laid.where(seen), index[seen], (0, 0, 0), scene)
    yield "</g>"


def _cell_lines(cells: Cells, scene: Scene) -> Iterator[str]:
    """Return a square for each cell of the plate that has a value."""
    side = f"{cells.cell_mm:g}"
    for row, column in zip(
        *(places.tolist() for places in np.nonzero(cells.index != UNKNOWN_INDEX)), strict=True
    ):
        colour = _hex(_unpacked(int(scene.colours.palette[cells.index[row, column]])))
        x, y = cells.left_mm + column * cells.cell_mm, cells.front_mm + row * cells.cell_mm
        yield f'<rect x="{x:.3f}" y="{y:.3f}" width="{side}" height="{side}" fill="{colour}"/>'


def _seen(beads: Beads, area: SeenArea) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Tell which beads reach into the picture: (n,)."""
    r = 0.5 * beads.width_mm
    return np.asarray(
        (np.maximum(beads.x0_mm, beads.x1_mm) + r >= area.left)
        & (np.minimum(beads.x0_mm, beads.x1_mm) - r <= area.right)
        & (np.maximum(beads.y0_mm, beads.y1_mm) + r >= area.front)
        & (np.minimum(beads.y0_mm, beads.y1_mm) - r <= area.back)
    )


def _within(beads: Beads, area: SeenArea) -> Beads:
    return beads.where(_seen(beads, area))


def _paths(
    beads: Beads,
    index: np.ndarray[tuple[int, ...], np.dtype[np.uint8]] | None,
    plain: Rgb,
    scene: Scene | None,
) -> Iterator[str]:
    """Return one path for each run of beads that meet end to end in one width and colour."""
    if not len(beads):
        return
    width = np.round(beads.width_mm.astype(np.float64) / PLACES_MM).astype(np.int64)
    same = (
        (width[1:] == width[:-1])
        & (beads.x0_mm[1:] == beads.x1_mm[:-1])
        & (beads.y0_mm[1:] == beads.y1_mm[:-1])
    )
    if index is not None:
        same &= index[1:] == index[:-1]
    first = np.flatnonzero(np.concatenate([[True], ~same]))
    last = np.append(first[1:], len(beads))
    for start, end in zip(first.tolist(), last.tolist(), strict=True):
        colour = (
            plain if scene is None or index is None else _unpacked(int(scene.colours.palette[index[start]]))
        )
        points = " L".join(
            f"{x:.3f} {y:.3f}"
            for x, y in zip(beads.x1_mm[start:end].tolist(), beads.y1_mm[start:end].tolist(), strict=True)
        )
        yield (
            f'<path d="M{float(beads.x0_mm[start]):.3f} {float(beads.y0_mm[start]):.3f} L{points}" '
            f'stroke="{_hex(colour)}" stroke-width="{width[start] * PLACES_MM:.3f}"/>'
        )


def _mark_lines(vectors: Vectors) -> Iterator[str]:
    """Return travel as thin lines, retract and prime marks as triangles, the nozzle as a ring."""
    scene, pen = vectors.scene, _pen(vectors)
    colours = ui(scene.colours.dark)
    if "travel" in vectors.shown:
        columns = (column.tolist() for column in scene.travel.before(vectors.cut.move))
        lines = "".join(f"M{a:.3f} {b:.3f}L{c:.3f} {d:.3f}" for a, b, c, d in zip(*columns, strict=True))
        if lines:
            look = f'stroke="{_hex(colours["travel"])}" stroke-opacity="0.6" stroke-width="{pen:.4f}"'
            yield f'<path d="{lines}" fill="none" {look}/>'
    if "retracts" in vectors.shown:
        for points, name, up in ((scene.retracts, "retract", -1.0), (scene.primes, "prime", 1.0)):
            yield from _triangles(points, vectors, colours[name], up)
    nozzle = vectors.cut.nozzle
    if "nozzle" in vectors.shown and nozzle is not None:
        yield (
            f'<circle cx="{nozzle[0]:.3f}" cy="{nozzle[1]:.3f}" r="{7 * pen:.4f}" fill="none" '
            f'stroke="{_hex(colours["selection"])}" stroke-width="{2 * pen:.4f}"/>'
        )


def _triangles(points: Segments, vectors: Vectors, colour: Rgb, up: float) -> Iterator[str]:
    half = 3.6 * _pen(vectors)
    _, _, xs, ys = points.before(vectors.cut.move)
    for x, y in zip(xs.tolist(), ys.tolist(), strict=True):
        foot, tip = y - 0.8 * half * up, y + half * up
        yield (
            f'<path d="M{x - half:.3f} {foot:.3f}L{x + half:.3f} {foot:.3f}L{x:.3f} {tip:.3f}Z" fill="none" '
            f'stroke="{_hex(colour)}" stroke-width="{1.5 * _pen(vectors):.4f}"/>'
        )


def _scale_bar(
    area: SeenArea, left: float, top: float, text: float, colours: dict[str, Rgb]
) -> Iterator[str]:
    """Return a bar of a round length: without axes the picture would have no size."""
    length = round_step(area.width / 12.0)
    ink = _hex(colours["text"])
    yield f'<path d="M{left:.3f} {top:.3f}h{length:g}" stroke="{ink}" stroke-width="{0.2 * text:.3f}"/>'
    yield f'<text x="{left + length + 0.6 * text:.3f}" y="{top + 0.35 * text:.3f}" fill="{ink}">{length:g} mm</text>'


def _key_lines(key: ColourKey, left: float, top: float, text: float, ink: Rgb) -> Iterator[str]:
    """Return the swatches, one a line, or the colour bar."""
    yield f'<g fill="{_hex(ink)}">'
    if key.span is not None and key.scale is not None:
        yield f'<text x="{left:.3f}" y="{top + text:.3f}">{escape(key.title)}, {escape(key.unit)}</text>'
        bar, step = left + 18.0 * text, 10.0 * text / 255.0
        for k, (red, green, blue, _) in enumerate(key.scale[:255].tolist()):
            yield (
                f'<rect x="{bar + k * step:.4f}" y="{top + 0.1 * text:.3f}" width="{1.2 * step:.4f}" '
                f'height="{text:.3f}" fill="{_hex((red, green, blue))}"/>'
            )
        ends = tick_texts(key.span)
        yield f'<text x="{bar - 0.5 * text:.3f}" y="{top + text:.3f}" text-anchor="end">{escape(ends[0])}</text>'
        yield f'<text x="{bar + 10.5 * text:.3f}" y="{top + text:.3f}">{escape(ends[-1])}</text>'
    for row, swatch in enumerate(key.swatches):
        y = top + row * 1.5 * text
        yield (
            f'<rect x="{left:.3f}" y="{y + 0.2 * text:.3f}" width="{1.2 * text:.3f}" height="{0.8 * text:.3f}" '
            f'rx="{0.4 * text:.3f}" fill="{_hex(swatch.rgb)}"/>'
            f'<text x="{left + 1.8 * text:.3f}" y="{y + text:.3f}">{escape(swatch_text(swatch))}</text>'
        )
    yield "</g>"


def _hex(rgb: Rgb) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def _unpacked(argb: int) -> Rgb:
    """Return red, green, blue of an opaque 0xAARRGGBB."""
    return argb >> 16 & 255, argb >> 8 & 255, argb & 255
