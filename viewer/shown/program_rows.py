"""The figures of a whole program as rows."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from viewer.figures.clock_times import latest_start
from viewer.figures.figures import LayerFigures, TimeFigures
from viewer.figures.heat import set_on_layers
from viewer.figures.tables import Extent
from viewer.program import Program
from viewer.shown.cause_words import CAUSE_WORDS
from viewer.shown.claim_rows import claim_rows
from viewer.shown.clock_rows import MAX_PAUSES
from viewer.shown.numbers import (
    bytes_text,
    count_text,
    distance_text,
    duration_text,
    money_text,
    number_text,
    place_text,
    share_text,
    size_text,
)
from viewer.shown.row import Row, amount

MAX_UNCOUNTED = 2
"""Procedures of the machine that are named; further ones are only counted."""


def program_rows(program: Program) -> tuple[Row, ...]:
    """Return all figures of a program; nothing is read from its file again."""
    groups = (
        _program,
        _time,
        _ledger,
        _filament,
        _roles,
        _shape,
        _heat,
        _first_layer,
        _standing,
        _moves,
        claim_rows,
    )
    return tuple(row for group in groups for row in group(program))


def _program(program: Program) -> Iterator[Row]:
    group = "Program"
    size = program.source.file_bytes
    yield Row(group, "file", str(program.path), "", str(program.path), "As it was named when it was opened.")
    yield Row(
        group, "size", size, "bytes", bytes_text(size), "Bytes of the file on its drive, packed or not."
    )
    lines = program.tally.lines
    yield Row(
        group, "lines", lines, "", count_text(lines), "Lines of text; a last one without its end counts."
    )
    cards = (
        ("printer", program.printer.name),
        ("filament", program.filament.name),
        ("workshop", program.workshop.name),
    )
    for kind, name in cards:
        yield Row(group, kind, name, "", name, f"Name of the {kind} card that the figures are computed with.")
    where = {
        "comments": "comments in the program",
        "shape": "the shape of the paths (no comment names any)",
        "none": "nothing: there are no layers",
    }[program.roles_from]
    how = "What each bead is for is read from comments; where none says so, from how the paths lie."
    yield Row(group, "roles taken from", program.roles_from, "", where, how)


def uncounted_text(time: TimeFigures) -> str:
    """Say which commands take a time that is not counted."""
    named = [f"{one.name} (line {count_text(one.line)})" for one in time.uncounted[:MAX_UNCOUNTED]]
    more = len(time.uncounted) - len(named)
    return f"what {' and '.join(named)}{f' and {more} more' if more else ''} does: heating, homing"


def _time(program: Program) -> Iterator[Row]:
    group, time, layers = "Time", program.figures.time, program.figures.layers
    yield amount(
        group, "in all", time.total_s, "s",
        "Every move with its acceleration, limits and corners as the printer card has them, and all waits.",
        duration_text(time.total_s),
    )  # fmt: skip
    done = time.first_layer_done_s
    yield amount(
        group, "first layer done after", done, "s",
        "From the start of the program, with the heating that is in it, to the end of layer 1. Stay beside the printer "
        "until then.",
        duration_text(done) if done is not None else "there is no layer",
    )  # fmt: skip
    if time.uncounted:
        how = "The machine's own procedure: how long it heats, homes and levels is not in the program."
        yield Row(group, "not counted", time.uncounted[0].name, "", uncounted_text(time), how)
    yield amount(
        group,
        "in motion",
        time.moving_s,
        "s",
        "Time of all moves, without waits.",
        duration_text(time.moving_s),
    )
    yield amount(
        group, "at commanded speeds", time.nominal_s, "s",
        "Path over commanded speed alone: no speed factor (M220), acceleration, limits or waits. Programs often claim a "
        "time near it.",
        duration_text(time.nominal_s),
    )  # fmt: skip
    if layers.slowest:
        yield amount(
            group, "slowest layer", layers.slowest_s, "s", "The layer that takes longest, its waits included.",
            _slowest(layers),
        )  # fmt: skip
    if layers.slowest_to_lay != layers.slowest:
        how = "The layer that takes longest without heating, homing, tool changes and pauses."
        text = f"{duration_text(layers.slowest_to_lay_s)}, layer {layers.slowest_to_lay}"
        yield amount(group, "slowest without waits", layers.slowest_to_lay_s, "s", how, text)
    how = "Changes to another tool than the one in use."
    yield Row(group, "tool changes", time.tool_changes, "", count_text(time.tool_changes), how)
    yield from _latest_start(program)
    yield from _pauses(program)


def _slowest(layers: LayerFigures) -> str:
    waits = layers.slowest_wait_s
    much = f" ({duration_text(waits)} of it waiting)" if waits > 0.1 * layers.slowest_s else ""
    return f"{duration_text(layers.slowest_s)}, layer {layers.slowest}{much}"


def _latest_start(program: Program) -> Iterator[Row]:
    """Return when it must start at the latest to end before closing."""
    hours = program.workshop.hours
    if hours is None:
        return
    latest = latest_start(program.figures.time.total_s, hours)
    text = (
        f"{latest}, to end by {hours.closes}"
        if latest
        else f"never: open from {hours.opens} to {hours.closes}"
    )
    how = (
        "Closing time (workshop card) less the time in all; days on which the place is closed are not known."
    )
    yield Row("Time", "latest start", latest, "", text, how)


def _pauses(program: Program) -> Iterator[Row]:
    group, pauses = "Time", program.figures.time.pauses
    each = duration_text(program.printer.pause_s)
    how = f"Somebody must answer; {each} are counted for it (printer card) unless the program states a time."
    text = f"{count_text(len(pauses))}, each counted with {each} or as stated" if pauses else "none"
    yield Row(group, "pauses", len(pauses), "", text, how)
    for number, pause in enumerate(pauses[:MAX_PAUSES], 1):
        text = f"after {duration_text(pause.at_s)}: {pause.what} in layer {pause.layer}, line {pause.line}"
        yield amount(group, f"pause {number}", pause.at_s, "s", how, text)


def _ledger(program: Program) -> Iterator[Row]:
    time = program.figures.time
    for cause, seconds in time.ledger_s.items():
        name, how = CAUSE_WORDS[cause]
        yield amount("Time ledger", name, seconds, "s", how, timed_share(seconds, time.total_s))


def timed_share(seconds: float, total_s: float) -> str:
    """Return a time and its share of the whole, "0 s" alone."""
    if seconds == 0.0 or total_s <= 0.0:
        return duration_text(seconds)
    return f"{duration_text(seconds)}, {share_text(seconds / total_s)}"


def _filament(program: Program) -> Iterator[Row]:
    group, used = "Filament and cost", program.figures.filament
    card = program.filament
    yield amount(
        group, "filament drawn", used.drawn_mm, "mm",
        "How far filament goes forward in all, purge included; pulling back and priming again cancel.",
        distance_text(used.drawn_mm),
    )  # fmt: skip
    yield amount(
        group, "of which from layer 1 on", used.part_mm, "mm",
        "The same without what is fed before layer 1. Many programs claim this length.",
        distance_text(used.part_mm),
    )  # fmt: skip
    diameter = size_text(used.diameter_mm)
    how = f"Length times the filament's cross-section (diameter {diameter} mm)."
    yield amount(group, "volume", used.volume_mm3, "mm³", how, f"{number_text(used.volume_mm3 / 1000)} cm³")
    yield amount(
        group,
        "mass",
        used.mass_g,
        "g",
        f"Volume times {number_text(card.density_g_cm3)} g/cm³ (filament card).",
    )
    after = used.spool_after_g
    if after is not None:
        text = f"{number_text(after)} g" if after >= 0.0 else f"{number_text(-after)} g short"
        yield amount(group, "then left on the spool", after, "g", "What is on it now less the mass.", text)
    yield from _cost(program)
    if len(used.by_tool) > 1:
        for tool, share in used.by_tool.items():
            text = f"{distance_text(share['mm'])}, {number_text(share['g'])} g"
            yield amount(group, f"tool {tool}", share["g"], "g", "What this tool draws.", text)


def _cost(program: Program) -> Iterator[Row]:
    group, used = "Filament and cost", program.figures.filament
    price, rate = program.filament.price_per_kg, program.workshop.charge_per_hour
    unknown = "unknown: the filament card has no price"
    material = unknown if used.material_cost is None else money_text(used.material_cost, used.currency)
    how = "Mass times the filament card's price." if price is None else (
        f"Mass times {money_text(price, used.currency)} a kg (filament card)."
    )  # fmt: skip
    yield amount(group, "filament cost", used.material_cost, used.currency, how, material)
    yield amount(
        group, "printer's time", used.machine_cost, used.currency,
        f"Time in all times {money_text(rate, used.currency)} an hour (workshop card).",
        money_text(used.machine_cost, used.currency),
    )  # fmt: skip
    yield from _energy(program)
    cost = unknown if used.cost is None else money_text(used.cost, used.currency)
    yield amount(
        group,
        "cost",
        used.cost,
        used.currency,
        "Filament, printer's time and, where its price is known, electricity together.",
        cost,
    )


def _energy(program: Program) -> Iterator[Row]:
    used, power, price = program.figures.filament, program.printer.power_w, program.workshop.price_per_kwh
    if used.energy_kwh is None or power is None:
        return
    text = f"{number_text(used.energy_kwh)} kWh"
    how = f"Time in all times {number_text(power)} W (printer card)."
    if price is not None:
        text += f", {money_text(used.energy_cost, used.currency)}"
        how += f" A kWh costs {money_text(price, used.currency)} (workshop card)."
    yield amount("Filament and cost", "electricity", used.energy_kwh, "kWh", how, text)


def _roles(program: Program) -> Iterator[Row]:
    seconds, filament = program.figures.time.by_role_s, program.figures.filament.by_role
    path = program.totals.path_by_role_mm
    how = "Time of all moves under this role (travel among them), filament drawn under it, path of its beads."
    for role in dict.fromkeys([*path, *filament, *seconds]):
        spent, mass, mm = seconds.get(role, 0.0), filament.get(role, {}).get("g", 0.0), path.get(role, 0.0)
        laid = [f"{number_text(mass)} g", f"{distance_text(mm)} of bead"] if mass or mm else []
        yield amount("Roles", role, spent, "s", how, ", ".join([duration_text(spent), *laid]))


def _shape(program: Program) -> Iterator[Row]:
    group, layers = "Shape", program.figures.layers
    yield Row(
        group, "layers", layers.count, "", count_text(layers.count),
        "Runs of beads at one height, in the order of the program; a spiral counts one for each turn.",
    )  # fmt: skip
    if layers.count:
        how = "Height of layer 1 above the plate."
        yield amount(
            group, "first layer", layers.first_mm, "mm", how, f"{size_text(layers.first_mm)} mm thick"
        )
        how = "The thickness that most layers have."
        yield amount(
            group, "usual layer", layers.usual_mm, "mm", how, f"{size_text(layers.usual_mm)} mm thick"
        )
        how = "Top of the highest layer above the plate."
        yield amount(group, "height", layers.height_mm, "mm", how, f"{size_text(layers.height_mm)} mm")
        how = "How often the height falls back to the plate and a new object begins."
        yield Row(group, "objects in turn", layers.objects, "", _objects(layers.objects), how)
    yield from _extent(program.figures.extent)


def _objects(count: int) -> str:
    return (
        "1 (parts printed together count as one)"
        if count == 1
        else f"{count_text(count)}, printed one after another"
    )


def _extent(extent: Extent | None) -> Iterator[Row]:
    how = "Of the beads' middle lines in the machine's coordinates, purge left out."
    if extent is None:
        yield Row("Shape", "extent", None, "mm", "no beads", how)
        return
    for axis, (low, high) in (("X", extent.x), ("Y", extent.y), ("Z", extent.z)):
        span = (
            f"{size_text(low)} to {size_text(high)}"
            if axis == "Z"
            else f"{place_text(low)} to {place_text(high)}"
        )
        wide = "" if axis == "Z" else f" ({place_text(high - low)} across)"
        yield amount("Shape", f"beads in {axis}", high - low, "mm", how, f"{span} mm{wide}")


def _heat(program: Program) -> Iterator[Row]:
    how = "What the program sets while beads are laid; the heaters may lag behind."
    for name, field, unit in (("nozzle", "nozzle_c", "°C"), ("plate", "plate_c", "°C"), ("fan", "fan", "%")):
        first, later = set_on_layers(program.layers, program.moves, program.settings, field)
        texts = [_span(values, unit) for values in (first, later)]
        text = (
            texts[0] if texts[0] == texts[1] or not len(later) else f"{texts[0]} on layer 1, then {texts[1]}"
        )
        value = float(first[-1]) * (100.0 if unit == "%" else 1.0) if len(first) else None
        yield amount("Heat and fan", name, value, unit, how, text)


def _span(values: np.ndarray[tuple[int], np.dtype[np.float64]], unit: str) -> str:
    if not len(values):
        return "never set"
    texts = [
        share_text(float(v)) if unit == "%" else f"{number_text(float(v))} {unit}" for v in values[[0, -1]]
    ]
    return texts[0] if texts[0] == texts[1] else f"{texts[0].removesuffix(unit).rstrip()} to {texts[1]}"


def _first_layer(program: Program) -> Iterator[Row]:
    group, first = "First layer", program.figures.first_layer
    if first is None:
        yield _failed(program, group, "first_layer")
        return
    cells = f"Counted on a grid of {size_text(program.first_layer.cell_mm)} mm."
    how = f"Area of the plate that the beads of the part and its support cover, drawn at their true width. {cells}"
    yield amount(group, "contact", first.contact_mm2, "mm²", how)
    yield amount(
        group,
        "hold-down beside it",
        first.hold_mm2,
        "mm²",
        f"Area covered by skirt, brim or raft alone. {cells}",
    )
    how = "The contact with gaps narrower than a bead closed."
    yield amount(group, "outline", first.outline_mm2, "mm²", how)
    covered = program.first_layer.coverage
    text = "no part on the plate" if covered is None else share_text(covered)
    yield amount(
        group, "coverage", covered, "", "Contact over outline: what is missing are gaps between beads.", text
    )
    yield Row(
        group,
        "islands",
        first.islands,
        "",
        count_text(first.islands),
        "Pieces of the first layer, joined by the brim or raft that touches them; support counts as part.",
    )
    parts = [island for island in program.first_layer.islands if island.has_part]
    if len(parts) > 1:
        x, y = parts[-1].centre_mm
        text = f"{number_text(parts[-1].part_mm2)} mm² at X {place_text(x)} Y {place_text(y)} mm"
        how = "Area of the part in the smallest of them, hold-down left out."
        yield amount(group, "smallest island", parts[-1].part_mm2, "mm²", how, text)
    how = "Area of the convex hull of part and support on the plate, each object by itself."
    yield amount(group, "hull", first.hull_mm2, "mm²", how)
    how = (
        "Least distance of a bead of part or support to the edge of the plate (printer card); hold-down and purge left "
        "out."
    )
    yield amount(group, "to the plate's edge", first.edge_mm, "mm", how, _edge(first.edge_mm))


def _failed(program: Program, group: str, part: str) -> Row:
    """Return the row that stands in place of figures whose computation failed of itself."""
    return Row(group, "unknown", None, "", program.figures.failures[part], "It could not be computed.")


def _edge(edge_mm: float | None) -> str:
    if edge_mm is None:
        return "unknown: no part, or no plate size on the printer card"
    return f"{number_text(edge_mm)} mm" if edge_mm >= 0.0 else f"{number_text(-edge_mm)} mm beyond it"


def _standing(program: Program) -> Iterator[Row]:
    group, least = "Standing", program.figures.standing
    how = "Mean place of all beads of part and support by mass; of several parts, that which topples first."
    if "standing" in program.figures.failures:
        yield _failed(program, group, "standing")
        return
    if least is None:
        yield Row(group, "centre of mass", None, "mm", "no part", how)
        return
    x, y, z = least.centre_mm
    at = f"X {place_text(x)} Y {place_text(y)} mm, {size_text(round(z, 1))} mm above the plate"
    yield amount(group, "centre of mass", z, "mm", how, at)
    how = (
        "Angle by which it must tilt until its centre of mass is over the edge of its first layer's hull; support counts "
        "as part. What sticks it to the plate is left out."
    )
    yield amount(group, "topples at", least.tilt_deg, "°", how, f"{number_text(least.tilt_deg)}°")
    how = "The same with the brim or raft that touches it."
    yield amount(
        group, "with its hold-down", least.tilt_held_deg, "°", how, f"{number_text(least.tilt_held_deg)}°"
    )


_MOVE_WORDS = {
    "beads": ("beads", "Filament forward and a path."),
    "travels": ("travels", "A path without filament, height changes too."),
    "wipes": ("wipes", "A path while filament is pulled back."),
    "retracts": ("retracts", "Filament back, no path."),
    "primes": ("primes", "Filament forward, no path."),
    "arcs": ("arcs among them", "Lines with an arc (G2, G3); each is drawn as several moves."),
    "total": ("moves in all", "Moves as commanded; an arc counts once."),
}


def _moves(program: Program) -> Iterator[Row]:
    counts, path = program.figures.moves, program.figures.path
    for key, (name, how) in _MOVE_WORDS.items():
        yield Row("Moves", name, counts[key], "", count_text(counts[key]), how)
    for key, name in (
        ("bead_mm", "path of beads"),
        ("travel_mm", "path of travel"),
        ("wipe_mm", "path of wipes"),
    ):
        how = "In three dimensions, arcs by their true length, purge included."
        yield amount("Moves", name, path[key], "mm", how, distance_text(path[key]))
