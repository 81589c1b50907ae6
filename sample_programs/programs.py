"""The good programs: what a keeper gets on an ordinary day."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import parts
from paths import in_order, inset, islands, joined, lines
from printing import LIMITS, Job, begin, begin_layer, finish, go, lay, program, purge_line
from shapely.geometry import Point, box
from slicing import Layer, Path, Recipe, slice_part
from writer import Dialect, Writer, section_mm2


def tap_washer_tray() -> str:
    """Brim, walls, infill and support in one part."""
    recipe = Recipe(brim_loops=6, skirt_loops=0)
    shape, support = parts.tap_washer_tray()
    words = (
        "A tap washer tray: brim, walls of two loops, 20 % infill, support under the ledge for its label.",
    )
    return program(Job(words, (slice_part(shape, 9.0, recipe, support),), recipe, limits=LIMITS))


def lamp_shade_ring() -> str:
    """A spiral: a solid base of three layers, then one continuous turn."""
    recipe = Recipe(thickness=0.24, first_thickness=0.24, width=0.5, first_width=0.5, top=0)
    base = slice_part(parts.stack((0, parts.ring(110, 110, 62.5, 44, 24))), 3 * 0.24, recipe)
    words = (
        "A lamp-shade ring: a solid base of three layers, then one wall laid as a spiral without a seam;",
        "its height rises all along the bead, the first turn from nothing, the last turn to nothing.",
    )
    turns = 84
    job = Job(words, (base,), recipe, spiral_layers=turns + 1)
    writer = Writer(job.dialect)
    begin(writer, job)
    purge_line(writer, recipe, 4.0)
    for layer in base:
        begin_layer(writer, layer, recipe)
        lay(writer, layer, recipe)
    _spiral(writer, recipe, base[-1].top, turns)
    finish(writer, job)
    return writer.text()


def _spiral(writer: Writer, recipe: Recipe, floor: float, turns: int, steps: int = 108) -> None:
    """Lay a one-bead wall on a floor, one turn a layer.

    The bead's thickness is what lies below it: u t in the first turn, t later, (1 - u) t in the last one.
    """
    pitch = recipe.thickness
    go(writer, _on_wall(0.0, 0.0), floor + 0.02, recipe, Point(0, 0))
    for k in range(1, (turns + 1) * steps + 1):
        if k % steps == 1:
            number = 4 + (k - 1) // steps
            writer.say(f"layer {number} at {floor + min((k - 1) // steps + 1, turns) * pitch:.2f} mm")
            writer.role("outline")
        turn = k / steps
        height = min(turn, turns) * pitch
        thickness = max(0.02, pitch * min(1.0, turn, turns + 1 - turn))
        x, y = _on_wall(height, turn * math.tau)
        speed = 16.0 if turn <= 1 else 23.0
        writer.bead(x, y, section_mm2(recipe.width, thickness), speed, z=floor + max(height, 0.02))


def _on_wall(height: float, turn: float) -> tuple[float, float]:
    radius = parts.lamp_shade_radius(height, turn)
    return 110 + radius * math.cos(turn), 110 + radius * math.sin(turn)


def small_parts() -> str:
    """Several small parts layer by layer, each marked as an object."""
    recipe = Recipe(hop=0.3)
    made = parts.small_parts()
    words = (
        "A plate of nine small parts printed together, layer by layer: four tap washers, three pegs for",
        "coat hooks and two drawer glide pads. M486 says which part is being laid, so that one of them can",
        "be left out.",
    )
    foot = parts.together(*(shape for _, shape, _ in made))
    sliced = [slice_part(shape, height, replace(recipe, skirt_loops=0)) for _, shape, height in made]
    top = max(sliced, key=len)
    layers = [
        replace(
            layer,
            paths=tuple(p for body in sliced if len(body) > k for p in body[k].paths),
            within=foot(layer.top - 0.1),
        )
        for k, layer in enumerate(top)
    ]
    job = Job(words, (layers,), recipe)
    writer = Writer(job.dialect)
    begin(writer, job)
    writer.command(f"M486 T{len(made)}")
    purge_line(writer, recipe, 4.0)
    for k, layer in enumerate(layers):
        begin_layer(writer, layer, recipe)
        for number, (body, (name, _, _)) in enumerate(zip(sliced, made, strict=True)):
            if len(body) > k:
                writer.command(f"M486 S{number}")
                writer.say(f"part: {name}")
                lay(writer, layer, recipe, body[k].paths)
        writer.command("M486 S-1")
    finish(writer, job)
    return writer.text()


def drawer_glides() -> str:
    """Two objects, one after the other."""
    recipe = Recipe(bridge_deg=0.0, hop=0.4)
    bodies = tuple(slice_part(parts.drawer_glide(110, y), 8.0, recipe) for y in (80.0, 140.0))
    words = (
        "Two drawer glides printed one after the other, 60 mm apart: after the first one the nozzle",
        "goes high over it, and the height falls back to the first layer. A slot in each rail is bridged",
        "over 5 mm.",
    )
    return program(Job(words, bodies, recipe, limits=LIMITS))


def radiator_knob() -> str:
    """Arcs and relative extrusion."""
    recipe = Recipe(first_thickness=0.25, hop=0.3)
    words = (
        "A radiator knob: its round outlines are arcs (G2, G3), and extrusion is counted relatively (M83).",
    )
    dialect = Dialect(arcs=True, relative_e=True)
    return program(Job(words, (slice_part(parts.radiator_knob(110, 110), 12.25, recipe),), recipe, dialect))


def coat_hook() -> str:
    """A pause, and the machine's own retraction."""
    recipe = Recipe(thickness=0.24, first_thickness=0.28, first_width=0.55, brim_loops=3, skirt_loops=0)
    words = (
        "A coat hook lying on its side, in two colours by hand: before layer 26 it pauses (M0) for a change",
        "of filament. Retraction is left to the machine (G10, G11; M207 says how far).",
    )
    body = slice_part(parts.stack((0, parts.coat_hook(110, 100))), 10.12, recipe)
    return program(Job(words, (body,), recipe, Dialect(machine_retracts=True), pause_before=26))


def drawer_glide_inches() -> str:
    """Inches, line numbers and checksums."""
    recipe = Recipe(bridge_deg=0.0)
    words = (
        "A drawer glide written in inches (G20; feed in inches a minute, filament in inches), every command",
        "with a line number (N) and a checksum (*), as it would be sent along a cable. Heights in comments",
        "and claims are in mm.",
    )
    body = slice_part(parts.drawer_glide(110, 110, 52.0), 8.0, recipe)
    return program(Job(words, (body,), recipe, Dialect(inches=True, numbered=True)))


def tap_washers_bare() -> str:
    """No comment at all; all solid."""
    recipe = Recipe(bottom=99, top=99)
    body = slice_part(parts.tap_washers(110, 110), 3.0, recipe)
    return program(Job((), (body,), recipe, Dialect(comments=False)))


def radiator_dial_two_tools() -> str:
    """Two tools, each with its own purge line and purge block."""
    recipe = Recipe(hop=0.4, skirt_loops=0)
    bodies = [slice_part(shape, 3.0, recipe) for shape in parts.two_colour_disc(110, 110)]
    words = (
        "A radiator dial in two colours by two tools: T0 lays the round plate, T1 the pointer let into it.",
        "At each change the old tool pulls its filament back 8 mm and cools; the new one heats, primes 8 mm",
        "and lays a block of its own first.",
    )
    job = Job(words, (bodies[0],), recipe)
    writer = Writer(job.dialect)
    begin(writer, job)
    purge_line(writer, recipe, 4.0)
    _change(writer, recipe, 1)
    purge_line(writer, recipe, 7.0)
    tool = 1
    for k, plate_layer in enumerate(bodies[0]):
        begin_layer(writer, plate_layer, recipe)
        for turn in (0, 1):
            if turn:
                tool = 1 - tool
                _change(writer, recipe, tool)
            layer = bodies[tool][k]
            both = replace(layer, paths=(*_purge_block(tool, layer, recipe), *layer.paths))
            lay(writer, both, recipe)
    finish(writer, replace(job, shutdown=("M104 T0 S0", "M104 T1 S0", "M140 S0", "M107", "M84")))
    return writer.text()


def _change(writer: Writer, recipe: Recipe, tool: int) -> None:
    """Pull the old tool's filament back, let it cool, heat the new one and prime it again."""
    writer.pull(recipe.retract)
    first_time = tool not in writer.drawn_mm
    writer.lift(writer.z + 1.0)
    writer.pulled_mm = 0.0  # the long pull below takes the short one with it
    writer.pull(8.0 - recipe.retract)
    writer.command(f"M104 T{writer.tool} S170")
    writer.choose(tool)
    writer.command(f"M109 T{tool} S{recipe.nozzle_c}")
    writer.pulled_mm = 0.0 if first_time else 8.0


def _purge_block(tool: int, layer: Layer, recipe: Recipe) -> list[Path]:
    """Lay a solid square of 9 mm beside the part, one for each tool, from the plate up."""
    area = box(70 + 60 * tool, 60, 79 + 60 * tool, 69)
    width = recipe.width if layer.number > 1 else recipe.first_width
    room = islands(inset(area, width / 2))[0]
    angle = 45.0 if layer.number % 2 else -45.0
    found = in_order(lines(room, angle, recipe.spacing(width, layer.thickness)), (70.0, 60.0))
    return [Path("purge block", points, width) for points in joined(found, room, 1.0)]


PROGRAMS: dict[str, Callable[[], str]] = {
    "coat_hook_pause": coat_hook,
    "drawer_glide_inches": drawer_glide_inches,
    "drawer_glides_one_by_one": drawer_glides,
    "lamp_shade_ring_spiral": lamp_shade_ring,
    "radiator_dial_two_tools": radiator_dial_two_tools,
    "radiator_knob_arcs": radiator_knob,
    "small_parts_plate": small_parts,
    "tap_washer_tray": tap_washer_tray,
    "tap_washers_bare": tap_washers_bare,
}
"""File name without its ending -> what writes it."""
