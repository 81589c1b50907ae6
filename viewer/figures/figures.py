"""All figures of a program in one typed object; its plain form is what ``figures --json`` prints."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from viewer.cards.kinds import Cards
from viewer.figures.claims import ComparedClaim, compare_claims
from viewer.figures.first_layer import FirstLayer
from viewer.figures.standing import Standing, least_standing
from viewer.figures.tables import Extent, Totals
from viewer.layers.layers import Layers
from viewer.read.comments.remarks import Procedure, Remarks
from viewer.read.events import Events
from viewer.timing import CAUSES, Timing
from viewer.timing.ledger import BOOKED_ROLES, STANDING_FROM
from viewer.units import G_PER_KG, J_PER_KWH, MM3_PER_CM3, filament_area_mm2


@dataclass(frozen=True, slots=True)
class FilamentFigures:
    """Filament in all; masses by the filament card's density, cost by its price and the workshop's charge."""

    diameter_mm: float
    drawn_mm: float
    part_mm: float
    volume_mm3: float
    mass_g: float
    spool_after_g: float | None
    """Left on the spool afterwards, below 0 what it is short of; None: not known what is on it, or several tools draw."""
    material_cost: float | None
    """None: the filament card has no price."""
    machine_cost: float
    """Charge for the hours."""
    energy_kwh: float | None
    """Electricity; None: the printer card has no power."""
    energy_cost: float | None
    """None: the power or the price of electricity is not known."""
    cost: float | None
    """Of filament, hours and, where it is known, electricity; None: the filament card has no price."""
    currency: str
    by_role: dict[str, dict[str, float]]
    by_tool: dict[str, dict[str, float]]


@dataclass(frozen=True, slots=True)
class LayerFigures:
    """The layers in short."""

    count: int
    first_mm: float | None
    usual_mm: float | None
    objects: int
    height_mm: float | None
    """Top of the highest layer above the plate."""
    slowest: int
    """Number of the layer that takes longest; 0: no layers."""
    slowest_s: float
    slowest_wait_s: float
    """How much of it are waits: heat, homing, tool changes, pauses."""
    slowest_to_lay: int
    """Number of the layer that takes longest without these waits; 0: no layers."""
    slowest_to_lay_s: float


@dataclass(frozen=True, slots=True)
class Pause:
    """A place where the program waits for a person."""

    at_s: float
    line: int
    layer: int
    what: str


@dataclass(frozen=True, slots=True)
class Uncounted:
    """A command whose time nobody knows."""

    line: int
    name: str


@dataclass(frozen=True, slots=True)
class TimeFigures:
    """Time in all; `ledger_s` adds up to `total_s`."""

    total_s: float
    moving_s: float
    nominal_s: float
    ledger_s: dict[str, float]
    by_role_s: dict[str, float]
    first_layer_done_s: float | None
    pauses: tuple[Pause, ...]
    tool_changes: int
    uncounted: tuple[Uncounted, ...]
    """The machine's own procedures at the beginning: mostly heating, homing and levelling, whose time is not known."""


@dataclass(frozen=True, slots=True)
class FirstLayerFigures:
    """The first layer's grip."""

    contact_mm2: float
    hold_mm2: float
    outline_mm2: float
    coverage: float | None
    """Contact over outline; None: nothing lies on the plate."""
    islands: int
    island_list: tuple[dict[str, Any], ...]
    hull_mm2: float
    edge_mm: float | None


@dataclass(frozen=True, slots=True)
class StandingFigures:
    """The object that tips most easily."""

    centre_mm: tuple[float, float, float]
    tilt_deg: float
    tilt_held_deg: float
    """With the hold-down that touches the part."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Everything that is computed from the columns, in short."""

    moves: dict[str, int]
    path: dict[str, float]
    extent: Extent | None
    extent_all: Extent | None
    extent_moves: Extent | None
    filament: FilamentFigures
    layers: LayerFigures
    time: TimeFigures
    first_layer: FirstLayerFigures | None
    """None: see `failures`."""
    standing: StandingFigures | None
    """None: there is no part, or see `failures`."""
    claims: tuple[ComparedClaim, ...]
    failures: Mapping[str, str]
    """Of the parts whose computation failed of itself (``first_layer``, ``standing``), the sentence that tells it."""


def filament_figures(totals: Totals, total_s: float, cards: Cards) -> FilamentFigures:
    """Turn lengths into volume, mass and money: V = L pi d^2/4, m = V rho, E = P t.

    The cost is m price + hours charge + E price.
    """
    printer, card, workshop = cards.printer, cards.filament, cards.workshop
    diameter = cards.filament_diameter_mm
    g_per_mm = filament_area_mm2(diameter) * card.density_g_cm3 / MM3_PER_CM3
    mass = totals.drawn_mm * g_per_mm
    material = None if card.price_per_kg is None else mass / G_PER_KG * card.price_per_kg
    machine = total_s / 3600.0 * workshop.charge_per_hour
    energy = None if printer.power_w is None else printer.power_w * total_s / J_PER_KWH
    tools = totals.drawn_by_tool_mm
    energy_cost = (
        None if energy is None or workshop.price_per_kwh is None else energy * workshop.price_per_kwh
    )
    return FilamentFigures(
        diameter_mm=diameter,
        drawn_mm=totals.drawn_mm,
        part_mm=totals.part_mm,
        volume_mm3=totals.drawn_mm * filament_area_mm2(diameter),
        mass_g=mass,
        spool_after_g=None if card.spool_left_g is None or len(tools) > 1 else card.spool_left_g - mass,
        material_cost=material,
        machine_cost=machine,
        energy_kwh=energy,
        energy_cost=energy_cost,
        cost=None if material is None else material + machine + (energy_cost or 0.0),
        currency=workshop.currency,
        by_role={role: {"mm": mm, "g": mm * g_per_mm} for role, mm in totals.drawn_by_role_mm.items()},
        by_tool={str(tool): {"mm": mm, "g": mm * g_per_mm} for tool, mm in tools.items()},
    )


def layer_figures(layers: Layers, timing: Timing) -> LayerFigures:
    """Say in short what layers there are."""
    n = len(layers)
    if not n:
        return LayerFigures(0, None, None, 0, None, 0, 0.0, 0.0, 0, 0.0)
    usual, counts = np.unique(np.round(layers.thickness_mm, 3), return_counts=True)
    by_cause = timing.ledger.by_layer[1 : n + 1]
    of_layer = by_cause.sum(axis=1)
    waits = by_cause[:, STANDING_FROM:].sum(axis=1)
    slowest, to_lay = int(np.argmax(of_layer)), int(np.argmax(of_layer - waits))
    return LayerFigures(
        count=n,
        first_mm=round(float(layers.thickness_mm[0]), 5),
        usual_mm=float(usual[np.argmax(counts)]),
        objects=layers.objects,
        height_mm=round(float(layers.height_mm.max()), 5),
        slowest=slowest + 1,
        slowest_s=float(of_layer[slowest]),
        slowest_wait_s=float(waits[slowest]),
        slowest_to_lay=to_lay + 1,
        slowest_to_lay_s=float(of_layer[to_lay] - waits[to_lay]),
    )


_PAUSES = {0: "stop", 10: "stop", 250: "pause", 2260: "pause", 6000: "filament change", 6010: "pause"}


def time_figures(
    timing: Timing, events: Events, layers: Layers, starts: tuple[Procedure, ...]
) -> TimeFigures:
    """Sum up the ledger and the moments; `starts` are the machine's own procedures, which no card knows."""
    moments = timing.moments
    rows = moments.pause_event
    columns = (moments.pause_s, events.line[rows], layers.of_moves(events.move[rows]), events.code[rows])
    pauses = [
        Pause(at_s, line, min(layer, len(layers)), _PAUSES.get(code, "pause"))
        for at_s, line, layer, code in zip(*(column.tolist() for column in columns), strict=True)
    ]
    by_role = timing.ledger.by_role.sum(axis=1)
    done = moments.first_layer_done_s
    return TimeFigures(
        total_s=timing.total_s,
        moving_s=timing.moving_s,
        nominal_s=timing.nominal_s,
        ledger_s={cause: float(s) for cause, s in zip(CAUSES, timing.ledger.by_cause, strict=True)},
        by_role_s={name: float(s) for name, s in zip(BOOKED_ROLES, by_role, strict=True) if s > 0.0},
        first_layer_done_s=None if done is None or math.isnan(done) else float(done),
        pauses=tuple(pauses),
        tool_changes=len(moments.tool_change_s),
        uncounted=tuple(Uncounted(start.line, start.name) for start in starts),
    )


def first_layer_figures(first: FirstLayer) -> FirstLayerFigures:
    """Put the first layer's grip in short."""
    return FirstLayerFigures(
        contact_mm2=first.contact_mm2,
        hold_mm2=first.hold_mm2,
        outline_mm2=first.outline_mm2,
        coverage=first.coverage,
        islands=sum(1 for island in first.islands if island.part_mm2 > 0.0),
        island_list=tuple(
            {"area_mm2": island.area_mm2, "part_mm2": island.part_mm2, "centre_mm": list(island.centre_mm)}
            for island in first.islands[:200]
        ),
        hull_mm2=first.hull_mm2,
        edge_mm=first.edge_mm,
    )


def standing_figures(all_of_them: tuple[Standing, ...]) -> StandingFigures | None:
    """Return the object that tips most easily."""
    least = least_standing(all_of_them)
    return None if least is None else StandingFigures(least.centre_mm, least.tilt_deg, least.tilt_held_deg)


def collect(
    totals: Totals,
    timing: Timing,
    events: Events,
    layers: Layers,
    first: FirstLayer | None,
    standing: tuple[Standing, ...],
    remarks: Remarks,
    arcs: int,
    cards: Cards,
    failures: Mapping[str, str],
) -> Figures:
    """Collect all figures of one program.

    Parameters
    ----------
    first
        None where measuring it failed.
    arcs
        Lines that made an arc.
    failures
        Names of parts that failed, with the sentence that tells it.
    """
    filament = filament_figures(totals, timing.total_s, cards)
    in_short = layer_figures(layers, timing)
    seconds = time_figures(timing, events, layers, remarks.starts)
    kinds = totals.counts
    mm3_per_mm = filament_area_mm2(filament.diameter_mm)
    others = {"time_s": seconds.total_s, "layers": float(in_short.count)}
    if in_short.height_mm is not None:
        others["height_mm"] = in_short.height_mm
    if seconds.first_layer_done_s is not None:
        others["first_layer_time_s"] = float(timing.ledger.by_layer[1].sum())
        others["part_time_s"] = float(timing.ledger.by_layer[1:].sum())
    if filament.material_cost is not None:
        others["cost"] = filament.material_cost
    compared = compare_claims(
        remarks.claims,
        {
            "drawn": totals.drawn_mm,
            "part": totals.part_mm,
            "net": totals.net_mm,
            "beads": totals.bead_filament_mm,
            "forward": totals.forward_mm,
        },
        {"drawn": totals.drawn_by_tool_mm, "part": totals.part_by_tool_mm},
        mm3_per_mm,
        mm3_per_mm * cards.filament.density_g_cm3 / MM3_PER_CM3,
        others,
    )
    table = totals.layers
    return Figures(
        moves={"total": sum(kinds.values()), **kinds, "arcs": arcs},
        path={
            "bead_mm": math.fsum(table.bead_mm),
            "travel_mm": math.fsum(table.travel_mm),
            "wipe_mm": math.fsum(table.wipe_mm),
        },
        extent=totals.extent,
        extent_all=totals.extent_all,
        extent_moves=totals.extent_moves,
        filament=filament,
        layers=in_short,
        time=seconds,
        first_layer=None if first is None else first_layer_figures(first),
        standing=standing_figures(standing),
        claims=compared,
        failures=failures,
    )
