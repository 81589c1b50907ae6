"""From layers to a whole program: heat up, purge, layers, claims, shut down."""

from __future__ import annotations

import math
from dataclasses import dataclass

from paths import Point, arcs
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry
from slicing import Layer, Path, Recipe
from writer import DENSITY_G_CM3, FILAMENT_MM2, Dialect, Writer, section_mm2

PLATE_MM = 220.0
LIMITS = (
    "M201 X1500 Y1500 Z100 E3000",
    "M203 X200 Y200 Z12 E60",
    "M204 P1200 R1500 T1200",
    "M205 X8 Y8 Z0.4 E4",
)
PLACE = (
    "Quayside Repair Workshop, printer Heron: plate 220 x 220 mm, height 250 mm, nozzle 0.4 mm, PLA 1.75 mm"
)


PLAIN_DIALECT = Dialect()


@dataclass(frozen=True, slots=True)
class Job:
    """Everything one program is made of; ``bodies`` are printed one after another, each from the plate up."""

    words: tuple[str, ...]
    bodies: tuple[list[Layer], ...]
    recipe: Recipe
    dialect: Dialect = PLAIN_DIALECT
    limits: tuple[str, ...] = ()
    homing: tuple[str, ...] = ("G28",)
    shutdown: tuple[str, ...] = ("M104 S0", "M140 S0", "M107", "M84")
    pause_before: int = 0  # number of the layer before which somebody changes the filament
    claim_factor: float = 1.0
    spiral_layers: int = 0  # turns of a spiral that is laid after the bodies


def program(job: Job) -> str:
    """Write one program."""
    writer = Writer(job.dialect)
    begin(writer, job)
    purge_line(writer, job.recipe, 4.0)
    for number, body in enumerate(job.bodies, start=1):
        if len(job.bodies) > 1:
            next_object(writer, job, number)
        for layer in body:
            if layer.number == job.pause_before:
                pause(writer, job.recipe)
            begin_layer(writer, layer, job.recipe)
            lay(writer, layer, job.recipe)
    finish(writer, job)
    return writer.text()


def begin(writer: Writer, job: Job) -> None:
    """Say what the program shows, heat up and home."""
    writer.travel_mm_s = job.recipe.travel_speed
    for words in job.words:
        writer.say(words)
    writer.say(PLACE)
    writer.say(f"number of layers: {sum(map(len, job.bodies)) + job.spiral_layers}")
    for text in ("G20" if job.dialect.inches else "G21", "G90", "M83" if job.dialect.relative_e else "M82"):
        writer.command(text)
    for text in (*job.limits, f"M140 S{job.recipe.plate_c}", "M104 S150", "M107", *job.homing):
        writer.command(text)
    if job.dialect.machine_retracts:
        writer.command(f"M207 S{job.recipe.retract} F2100")
    writer.command(f"M190 S{job.recipe.plate_c}")
    writer.command(f"M109 S{job.recipe.first_nozzle_c}")
    writer.zero_e()


def purge_line(writer: Writer, recipe: Recipe, y: float) -> None:
    """Lay a thick line along the plate's front edge, so that the nozzle is full and clean."""
    writer.lift(5.0)
    writer.travel(20.0, y)
    writer.lift(0.3)
    writer.role("purge line")
    writer.bead(120.0, y, section_mm2(0.6, 0.3), 20.0)
    writer.pull(recipe.retract)
    writer.lift(0.3 + recipe.hop)


def next_object(writer: Writer, job: Job, number: int) -> None:
    """Go high over what stands already, then begin the next object at the plate."""
    if number > 1:
        writer.pull(job.recipe.retract)
        writer.lift(job.bodies[number - 2][-1].top + 5.0)
        start = job.bodies[number - 1][0].paths[0].points[0]
        writer.travel(*start)
        writer.command("M107")
    writer.say(f"object {number} of {len(job.bodies)}")


def begin_layer(writer: Writer, layer: Layer, recipe: Recipe) -> None:
    """Mark the layer; from the second one on the fan runs and the nozzle is a little cooler."""
    writer.say(f"layer {layer.number} at {layer.top:.2f} mm")
    if layer.number == 2:
        writer.command("M106 S255")
        if recipe.nozzle_c != recipe.first_nozzle_c:
            writer.command(f"M104 S{recipe.nozzle_c}")


def lay(writer: Writer, layer: Layer, recipe: Recipe, paths: tuple[Path, ...] | None = None) -> None:
    """Lay the paths of a layer, slowed down together where the layer would be done too quickly to set."""
    slow = slowing(layer, recipe)
    for path in layer.paths if paths is None else paths:
        go(writer, path.points[0], layer.top, recipe, layer.within)
        writer.role(path.role)
        area = section_mm2(path.width, layer.thickness)
        speed = speed_of(path, layer, recipe) * slow
        if writer.dialect.arcs:
            for end, centre, left in arcs(path.points):
                if centre is None:
                    writer.bead(*end, area, speed)
                else:
                    writer.arc(end, centre, left, area, speed)
        else:
            for x, y in path.points[1:]:
                writer.bead(x, y, area, speed)


def go(writer: Writer, to: Point, z: float, recipe: Recipe, within: BaseGeometry) -> None:
    """Travel to where a path begins; retracted, unless the way is short or stays over the part."""
    way = math.dist((writer.x, writer.y), to)
    inside = way <= 5.0 and writer.z == z and within.covers(LineString([(writer.x, writer.y), to]))
    if way > 2.0 and not inside:
        writer.pull(recipe.retract)
        writer.lift(max(z, writer.z) + (recipe.hop if writer.z <= z else 0.0))
    if writer.z < z:
        writer.lift(z)
    if way > 0.0005:
        writer.travel(*to)
    writer.lift(z)
    writer.push()


def speed_of(path: Path, layer: Layer, recipe: Recipe) -> float:
    """Return the speed of a path before slowing, mm/s."""
    return recipe.first_speed if layer.number == 1 else recipe.speeds[path.role]


def slowing(layer: Layer, recipe: Recipe) -> float:
    """Return the factor that makes the beads alone, without braking or travel, last the least layer time."""
    seconds = sum(LineString(p.points).length / speed_of(p, layer, recipe) for p in layer.paths)
    return min(1.0, seconds / recipe.least_layer_s) if recipe.least_layer_s else 1.0


def pause(writer: Writer, recipe: Recipe) -> None:
    """Lift, go to the front left corner and wait for somebody who changes the filament."""
    writer.pull(recipe.retract)
    writer.lift(writer.z + 10.0)
    writer.travel(10.0, 10.0)
    writer.command("M117 Change the filament, then go on")
    writer.command("M0")


def finish(writer: Writer, job: Job) -> None:
    """Leave the part, switch everything off, and claim what was used."""
    writer.pull(job.recipe.retract)
    writer.lift(min(writer.z + 10.0, 250.0))
    writer.travel(10.0, 200.0)
    for text in job.shutdown:
        writer.command(text)
    claim(writer, job.claim_factor)


def claim(writer: Writer, factor: float = 1.0) -> None:
    """State the filament drawn, by tool."""
    lengths = [drawn * factor for _, drawn in sorted(writer.drawn_mm.items())]
    masses = [length * FILAMENT_MM2 * DENSITY_G_CM3 / 1000 for length in lengths]
    writer.say("filament needed: " + ", ".join(f"{length:.2f} mm" for length in lengths))
    writer.say("filament mass: " + ", ".join(f"{mass:.3f} g" for mass in masses))
