"""Layers left out, laid twice or in the wrong order, and layers thicker than the nozzle lays."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from viewer.checks.evidence import first_bead_in, layer_of, line_of, middle_of, middle_of_layer
from viewer.checks.finding import Check, Finding, Outcome, Passed, Rule, Severity, with_rest
from viewer.checks.middle import RISE_NOZZLES
from viewer.figures.layer_sequence import (
    LEAST_LAYERS,
    LEAST_RISE,
    LeftOut,
    Lower,
    Twice,
    beads_laid_lower,
    layers_laid_twice,
    layers_left_out,
    thick_layers,
)
from viewer.layers.layers import FLAT_MM
from viewer.numerals import share_text, told_apart
from viewer.program import Program

SEQUENCE: Final = "layer-sequence"
THICK: Final = "thick-layers"
MOST_TOLD: Final = 5


def _find_sequence(program: Program, rule: Rule) -> Iterator[Outcome]:
    moves, layers = program.moves, program.layers
    left_out = [
        one
        for one in layers_left_out(moves, layers)
        if one.rise_mm < RISE_NOZZLES * program.printer.nozzle_mm
    ]
    twice, lower = layers_laid_twice(moves, layers), beads_laid_lower(moves, layers)
    for found, what in (
        ([_left_out(program, rule, one) for one in left_out], "layer"),
        ([_twice(program, rule, one) for one in twice], "layer"),
        ([_lower(program, rule, one) for one in lower], "place"),
    ):
        yield from with_rest(found[:MOST_TOLD], len(found), what)
    if len(layers) >= LEAST_LAYERS and not (left_out or twice or lower):
        yield Passed(SEQUENCE, f"Each of {len(layers):,} layers lies on the one before and is laid once.")


def _left_out(program: Program, rule: Rule, one: LeftOut) -> Finding:
    move = first_bead_in(program, one.layer)
    return Finding(
        slug=SEQUENCE,
        severity=rule.weigh(Severity.LOOK),
        sentence=f"Layer {one.layer} lies {one.rise_mm:.2f} mm above the one before, where {one.usual_mm:.2f} mm is "
        "usual, and its beads draw no more filament: a layer was probably left out below it.",
        lines=(line_of(program, move),),
        layer=one.layer,
        place_mm=middle_of_layer(program, one.layer),
        value=one.rise_mm / one.usual_mm,
        limit=LEAST_RISE,
        unit="usual heights",
        remedy="Have the program made again: its beads do not reach what lies below.",
        move=move,
    )


def _twice(program: Program, rule: Rule, one: Twice) -> Finding:
    return Finding(
        slug=SEQUENCE,
        severity=rule.weigh(Severity.LOOK),
        sentence=f"Layer {one.layer} is laid twice at the same height ({share_text(one.share)} of its path): the second "
        "time the nozzle runs through what it has laid.",
        lines=(line_of(program, one.move),),
        layer=one.layer,
        place_mm=middle_of_layer(program, one.layer),
        value=one.share,
        limit=None,
        unit="of the layer's path",
        remedy="Have the program made again, or take the second one out.",
        move=one.move,
    )


def _lower(program: Program, rule: Rule, one: Lower) -> Finding:
    return Finding(
        slug=SEQUENCE,
        severity=rule.weigh(Severity.LOOK),
        sentence=f"From line {line_of(program, one.move):,} on, beads are laid at a height of {one.height_mm:.2f} mm "
        f"where others lie up to {one.above_mm:.2f} mm by then: layers are in the wrong order.",
        lines=(line_of(program, one.move),),
        layer=layer_of(program, one.move),
        place_mm=middle_of(program, one.move),
        value=one.above_mm - one.height_mm,
        limit=None,
        unit="mm below what lies there",
        remedy="Do not print it so: the nozzle would run through what it has laid; have the program made again.",
        move=one.move,
    )


def _find_thick(program: Program, rule: Rule) -> Iterator[Outcome]:
    stated = program.made_for.nozzle
    nozzle = program.printer.nozzle_mm if stated is None else stated.value
    whose = "the printer card's nozzle" if stated is None else "the nozzle that the program was made for"
    most = (rule.limit or 0.0) * nozzle
    left_out = {one.layer for one in layers_left_out(program.moves, program.layers)}
    thick = [
        k
        for k in thick_layers(program.moves, program.layers, program.roles, most).tolist()
        if k not in left_out
    ]
    if not thick:
        if (usual := _most(program, most)) is not None:
            yield Passed(THICK, f"Layers are up to {usual:.2f} mm thick; {whose} lays up to {most:.2f} mm.")
        return
    worst = max(thick, key=lambda k: round(float(program.layers.thickness_mm[k - 1]), 3))
    height = float(program.layers.thickness_mm[worst - 1])
    move = first_bead_in(program, worst)
    measured, bound = told_apart(height, most)
    some = f"{len(thick):,} of {len(program.layers):,} {'is' if len(thick) == 1 else 'are'}"
    yield Finding(
        slug=THICK,
        severity=rule.weigh(Severity.LOOK if height >= nozzle - FLAT_MM else Severity.NOTE),
        sentence=f"Layers are up to {measured} mm thick: {some} thicker than {bound} mm, {rule.limit:g} of "
        f"{whose} of {nozzle:g} mm.",
        lines=(line_of(program, move),),
        layer=worst,
        place_mm=middle_of_layer(program, worst),
        value=height / nozzle,
        limit=rule.limit,
        unit="nozzle diameters",
        remedy="See which nozzle is fitted; if it is this one, have the program made with thinner layers.",
        move=move,
    )


def _most(program: Program, most: float) -> float | None:
    """Return the thickness of the thickest layer that counts, mm: first ones, spirals and those over a gap do not."""
    layers = program.layers
    height = layers.thickness_mm[~layers.is_first & ~layers.spiral]
    height = height[height <= most + FLAT_MM]
    return float(height.max()) if len(height) else None


SEQUENCE_CHECKS: Final = (
    Check(
        slug=SEQUENCE, theme="the shape", title="Layers left out, twice or in the wrong order",
        looks_at="Layers that rise by 1.7 or more heights of their neighbours, by a whole number of them, while their "
        "beads draw less than 1.3 times the filament for a mm; layers of whose path half is there twice; beads that "
        "lie lower than others that were laid before them in the same place.",
        why="Beads that were made for one height do not reach over two; a nozzle that runs through what it has laid "
        "tears it off.",
        what_to_do="Have the program made again.",
        cannot_see="A layer that is missing next to the first two or the last, or where heights change from layer "
        "to layer, in a spiral, or below support alone. Rises of 1.6 nozzle diameters and more are told by cut-short.",
        severity=Severity.LOOK, limit=None, unit="", run=_find_sequence,
        limit_source="measured on 60 whole programs, of which none comes near",
    ),
    Check(
        slug=THICK, theme="the shape", title="Layers too thick for the nozzle",
        looks_at="The thickness of all layers but first ones and rafts, against the diameter of the nozzle that the "
        "program states, or else the printer card's. Layers over a gap, as above a raft, are left out: their beads "
        "draw no more.",
        why="Thick layers are hardly pressed on what lies below, and split.",
        what_to_do="Have it made with thinner layers, or fit a larger nozzle.",
        cannot_see="How well the filament bonds. The first layer has a check of its own. Spirals are not looked at.",
        severity=Severity.LOOK, limit=0.8, unit="nozzle diameters", run=_find_thick,
    ),
)  # fmt: skip
"""Checks of the layers' heights and order."""
