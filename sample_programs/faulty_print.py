"""Faults of heat, speed, flow, time, filament and the machine: the same block, printed the wrong way."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from faulty import Fault, first_of_part, stated_mass
from parts import block
from printing import Job, program
from replay import Motion, first_line, in_layer, replay
from slicing import Layer, Recipe, slice_part
from writer import Dialect, section_mm2

PLAIN = Recipe(bottom=2, top=2)
PURGE = (70.0, 4.0)
"""The middle of the purge line, the first bead of all."""
ALL_ROLES = (
    "outline",
    "inner loop",
    "infill",
    "solid",
    "bridge",
    "support",
    "support interface",
    "brim",
    "skirt",
)


def plain_block(
    recipe: Recipe = PLAIN, layers: int = 10, side: float = 16.0, x: float = 110.0
) -> list[Layer]:
    """Slice a square block."""
    height = recipe.first_thickness + (layers - 1) * recipe.thickness
    return slice_part(block(x, 110, side, side), height, recipe)


def job(first: str, recipe: Recipe = PLAIN, layers: int = 10, side: float = 16.0) -> Job:
    """Return the printing of a square block."""
    return Job((first,), (plain_block(recipe, layers, side),), recipe)


def faster(text: str, layer: int, factor: float) -> str:
    """Speed up the beads of one layer."""

    def hurry(line: re.Match[str]) -> str:
        return f"{line[1]}F{float(line[2]) * factor:.0f}"

    return in_layer(text, layer, lambda own: re.sub(r"^(G1 X.* )F(\S+)$", hurry, own, flags=re.MULTILINE))


def at_speed(speed: float) -> Mapping[str, float]:
    """Return one speed for everything."""
    return dict.fromkeys(ALL_ROLES, speed)


def off_plate() -> Fault:
    """Over the right edge, or half a millimetre before it."""
    recipe = replace(PLAIN, skirt_loops=0)

    def write(first: str, wrong: bool) -> str:
        return program(Job((first,), (plain_block(recipe, x=216.0 if wrong else 211.5),), recipe))

    return Fault(
        "off-plate", "the block reaches 4 mm over the plate's right edge.",
        "the block ends 0.5 mm before the edge.",
        224.0, 219.5, 220.0, "mm in X", write, layer=1, place=(222.0, 110.0),
        line=lambda text: first_line(text, lambda bead: max(bead.start[0], bead.end[0]) > 220.0), within=0.01,
    )  # fmt: skip


def below_plate() -> Fault:
    """The first layer below the plate, or only an empty nozzle at its height."""

    def write(first: str, wrong: bool) -> str:
        body = plain_block()
        if wrong:
            sunk = [replace(layer, top=round(layer.top - 0.4, 3)) for layer in body]
            return program(Job((first,), (sunk,), PLAIN))
        return program(Job((first,), (body,), PLAIN)).replace("G28\n", "G28\nG0 Z0 F600\n", 1)

    return Fault(
        "off-plate.below", "the first layer is laid 0.2 mm below the plate's surface.",
        "the nozzle touches the plate at height 0 while travelling, and lays nothing there.",
        -0.2, 0.0, 0.0, "mm in Z", write, layer=1, place=(110.0, 110.0),
        line=lambda text: first_line(text, lambda bead: bead.end[2] < 0.0), within=0.001,
    )  # fmt: skip


def not_homed() -> Fault:
    """No homing, or axis by axis."""

    def write(first: str, wrong: bool) -> str:
        return program(replace(job(first), homing=() if wrong else ("G28 X0 Y0", "G28 Z0")))

    return Fault(
        "not-homed", "beads are laid though the machine was never homed.",
        "homed in two steps, first X and Y, then Z.",
        0.0, 3.0, 3.0, "axes homed", write, place=PURGE, line=r"^G1 X.* E",
    )  # fmt: skip


def hot(name: str, words: tuple[str, str], degrees: tuple[int, int], limit: float, **cards: object) -> Fault:
    """Heat the nozzle to one of two temperatures; the first bead laid with it is the purge line."""

    def write(first: str, wrong: bool) -> str:
        c = degrees[0] if wrong else degrees[1]
        return program(job(first, replace(PLAIN, nozzle_c=c, first_nozzle_c=c)))

    return Fault(
        name,
        words[0],
        words[1],
        degrees[0],
        degrees[1],
        limit,
        "degC",
        write,
        place=PURGE if name.startswith("wrong-heat") else None,
        line=rf"^M109 S{degrees[0]}$",
        cards=cards,
    )


def heats() -> list[Fault]:
    """Too hot for the machine, too hot for the filament, too cold to push any filament through."""
    window = {"nozzle_c": {"low": 190.0, "high": 230.0}}
    wide = {"nozzle_c": {"low": 190.0, "high": 320.0}}
    return [
        hot("too-hot-for-machine", ("the nozzle is set to 300 degC.", "the nozzle is set to 255 degC."),
        (300, 255), 260.0,
            printer={"heat": {"nozzle_max_c": 260.0}}, filament=wide),
        hot("wrong-heat", ("PLA is laid at 250 degC.", "PLA is laid at 228 degC."), (250, 228), 230.0,
        filament=window),
        hot("wrong-heat.cold", ("PLA is pushed through a nozzle of 150 degC.", "the nozzle has 192 degC."),
        (150, 192),
            190.0, filament=window),
    ]  # fmt: skip


def heaters_left_on() -> Fault:
    """The nozzle stays hot, or is switched off by another spelling."""

    def write(first: str, wrong: bool) -> str:
        off = ("M140 S0", "M107", "M84") if wrong else ("M140 S0", "M104 T0 S0", "M107", "M84")
        return program(replace(job(first), shutdown=off))

    return Fault(
        "heaters-left-on", "the nozzle is never switched off, only the plate is.",
        "the nozzle is switched off as tool 0.",
        205.0, 0.0, 40.0, "degC at the end", write, line=r"^M104 S205",
    )  # fmt: skip


def no_shut_down() -> Fault:
    """Nothing is switched off at the end, or the motors at least."""

    def write(first: str, wrong: bool) -> str:
        off = () if wrong else ("M104 S0", "M140 S0", "M18")
        return program(replace(job(first), shutdown=off))

    return Fault(
        "no-shutdown", "nothing stands behind the last bead: nozzle, plate and motors stay on.",
        "nozzle, plate and motors are switched off, and that is all.",
        205.0, 0.0, 0.0, "degC at the end", write,
        line=lambda text: text.count("\n"),
    )  # fmt: skip


def made_for() -> Fault:
    """Settings in a comment name another nozzle than the card's, or the same one as it was measured."""

    def write(first: str, wrong: bool) -> str:
        stated = "0.6" if wrong else "0.42"
        return program(job(first)) + f"; nozzle_diameter = {stated}\n"

    return Fault(
        "made-for", "its settings say that it was made for a nozzle of 0.6 mm; the card says 0.4 mm.",
        "its settings say 0.42 mm, as somebody measured it.",
        0.6, 0.0, 0.4, "mm", write, line=r"^; nozzle_diameter",
    )  # fmt: skip


def beyond_flow() -> Fault:
    """Infill faster than the hot end melts."""
    thick = replace(
        PLAIN,
        thickness=0.3,
        first_thickness=0.3,
        width=0.6,
        first_width=0.6,
        bottom=1,
        top=1,
        first_speed=25.0,
    )
    area = section_mm2(0.6, 0.3)

    def write(first: str, wrong: bool) -> str:
        text = program(job(first, thick, layers=8, side=40.0))
        return in_layer(text, 4, lambda own: own.replace(" F3600", " F6600")) if wrong else text

    return Fault(
        "beyond-flow", "in layer 4 infill 0.6 mm wide and 0.3 mm thick is laid at 110 mm/s.",
        "the same infill at 60 mm/s.",
        round(area * 110, 2), round(area * 60, 2), 11.0, "mm3/s", write, layer=4, place=(110.0, 110.0),
        line=r"^G1 .* F6600$", within=0.05,  # E has five decimals
        cards={"printer": {"melt_mm3_s": 11.0}},
    )  # fmt: skip


def speed_cut() -> Fault:
    """Speeds beyond what the program itself says the axes reach."""
    recipe = replace(PLAIN, speeds=at_speed(45.0), first_speed=40.0, travel_speed=45.0, bottom=1, top=1)
    limits = ("M201 X1200 Y1200", "M203 X50 Y50 Z12 E60", "M204 P1200 R1200 T1200")

    def write(first: str, wrong: bool) -> str:
        text = program(replace(job(first, recipe, layers=5, side=40.0), limits=limits))
        return in_layer(text, 4, lambda own: own.replace(" F2700", " F6000")) if wrong else text

    shares = [round(100.0 * _held_back(replay(write("", wrong)), 50.0), 1) for wrong in (True, False)]
    return Fault(
        "speed-cut", "in layer 4 beads are commanded at 100 mm/s though the program limits X and Y to 50 mm/s (M203).",
        "all beads and travel are commanded at 45 mm/s.", shares[0], shares[1], 5.0, "% of the beads' time", write,
        layer=4, place=(110.0, 129.37), line=lambda text: first_line(text, lambda bead: bead.layer == 4),
        within=1.5,  # braking at the corners is left out
        cards={"printer": {"obeys_program_limits": True}},
    )  # fmt: skip


def _held_back(motions: list[Motion], top: float) -> float:
    """Return the share of the beads' time for which X or Y would have to go faster than they can, without braking."""
    held = total = 0.0
    for bead in motions:
        if bead.is_bead:
            share = max(abs(b - a) for a, b in zip(bead.start[:2], bead.end[:2], strict=True)) / bead.length
            possible = min(bead.speed, top / share)
            total += bead.length / possible
            held += bead.length / possible if possible < bead.speed else 0.0
    return held / total


def nozzle_mismatch() -> Fault:
    """Beads wider than the nozzle lays."""

    def write(first: str, wrong: bool) -> str:
        width = 0.9 if wrong else 0.7
        return program(job(first, replace(PLAIN, width=width, first_width=width)))

    return Fault(
        "nozzle-mismatch", "beads are 0.9 mm wide, as a nozzle of 0.6 or 0.8 mm lays them.",
        "beads are 0.7 mm wide.",
        0.9, 0.7, 0.8, "mm", write, within=0.003,  # widths are counted in steps of 0.002 mm
        cards={"printer": {"nozzle_mm": 0.4}},
    )  # fmt: skip


def other_filament() -> Fault:
    """Lengths of filament for another diameter than the card's."""

    def write(first: str, wrong: bool) -> str:
        thin = program(job(first))
        return thin if wrong else re.sub(r"(?<= E)-?[0-9.]+|(?<=needed: )[0-9.]+", _for_thick_filament, thin)

    return Fault(
        "nozzle-mismatch.filament",
        "made for filament of 1.75 mm; the card says 2.85 mm, and only the beads' spacing tells.",
        "the same volumes, as lengths of filament of 2.85 mm.",
        1.75, 2.85, 2.85, "mm", write, within=0.03,  # walls overlap a little
        cards={"filament": {"diameter_mm": 2.85}},
    )  # fmt: skip


def _for_thick_filament(length: re.Match[str]) -> str:
    return f"{float(length.group()) * (1.75 / 2.85) ** 2:.5f}"


def abrasive() -> Fault:
    """A filled filament; only the cards tell."""

    def write(first: str, wrong: bool) -> str:
        return program(job(first))

    filled = {"filament": {"abrasive": True}}
    return Fault(
        "abrasive",
        "nothing in the program; with a filled filament (card) it would grind out a brass nozzle.",
        "the same program with a hardened nozzle (card).", 1.0, 0.0, 0.0, "abrasive through a plain nozzle",
        write,
        cards={**filled, "printer": {"nozzle_hardened": False}}, near_cards={**filled,
        "printer": {"nozzle_hardened": True}},
    )  # fmt: skip


def more_tools() -> Fault:
    """Half of the block with a second tool, or all of it with one."""

    def write(first: str, wrong: bool) -> str:
        return in_layer(program(job(first)), 6, lambda own: f"{'T1' if wrong else 'T0'}\n{own}")

    return Fault(
        "more-tools", "from layer 6 on a second tool, which the printer (card) has not.",
        "the first tool is named again.", 2.0, 1.0, 1.0, "tools", write, line="^T1$",
        cards={"printer": {"tools": 1}},
    )  # fmt: skip


def spool_short() -> Fault:
    """More filament than the spool holds, or less."""

    def write(first: str, wrong: bool) -> str:
        return program(job(first, layers=12 if wrong else 6))

    wrong_g, near_g = (round(stated_mass(write("", w)), 2) for w in (True, False))
    left = round((wrong_g + near_g) / 2, 2)
    return Fault(
        "spool-short", f"needs {wrong_g} g where {left} g are left on the spool (card).",
        f"needs {near_g} g.",
        wrong_g, near_g, left, "g", write, within=0.01, cards={"filament": {"spool_left_g": left}},
    )  # fmt: skip


def first_layer_speed() -> Fault:
    """A first layer laid in a hurry."""

    def write(first: str, wrong: bool) -> str:
        return program(
            job(first, replace(PLAIN, first_speed=70.0 if wrong else 30.0, least_layer_s=0.0, skirt_loops=3))
        )

    return Fault(
        "first-layer-speed", "the first layer is laid at 70 mm/s.", "the first layer is laid at 30 mm/s.",
        70.0, 30.0, 40.0,
        "mm/s", write, layer=1, place=(110.0, 110.0), line=first_of_part, within=0.01,
    )  # fmt: skip


def first_layers() -> list[Fault]:
    """A first layer too thick or too thin for a nozzle of 0.4 mm."""
    made = []
    for name, word, wrong_t, near_t, limit in (
        ("first-layer-height", "thick", 0.4, 0.3, 0.8),
        ("first-layer-height.thin", "thin", 0.05, 0.15, 0.25),
    ):

        def write(first: str, wrong: bool, pair: tuple[float, float] = (wrong_t, near_t)) -> str:
            return program(job(first, replace(PLAIN, first_thickness=pair[0] if wrong else pair[1])))

        words = (
            f"the first layer is {wrong_t:g} mm thick: too {word} for a nozzle of 0.4 mm.",
            f"it is {near_t:g} mm thick.",
        )
        values = (round(thickness / 0.4, 3) for thickness in (wrong_t, near_t))
        made.append(
            Fault(
                name,
                *words,
                *values,
                limit,
                "nozzle diameters",
                write,
                layer=1,
                place=(110.0, 110.0),
                line=first_of_part,
                within=0.001,
            )
        )
    return made


def quick_layers() -> Fault:
    """Three layers that get no time to set, the middle one least."""
    slow = replace(PLAIN, speeds=at_speed(15.0), first_speed=15.0, least_layer_s=10.0)

    def write(first: str, wrong: bool) -> str:
        text = program(job(first, slow, layers=16, side=9.0))
        for layer, factor in ((7, 2.0), (8, 2.5), (9, 2.0)) if wrong else ():
            text = faster(text, layer, factor)
        return text

    value, near = (
        round(sum(motion.seconds for motion in replay(write("", wrong)) if motion.layer == 8), 2)
        for wrong in (True, False)
    )
    return Fault(
        "quick-layers", "layers 7 to 9 of a block of 9 x 9 mm are laid in a hurry, layer 8 most of all.",
        "all layers get 10 s.", value, near, 8.0, "s", write, layer=8, place=(110.0, 110.0),
        line=lambda text: first_line(text, lambda bead: bead.layer == 8),
        within=0.8,  # travel and retraction speed up and brake
        cards={"filament": {"layer_s": 8.0}},
    )  # fmt: skip


def claims_differ() -> Fault:
    """A claim that is half again too high, or a little."""

    def write(first: str, wrong: bool) -> str:
        return program(replace(job(first), claim_factor=1.5 if wrong else 1.004))

    return Fault(
        "claims-differ", "at its end the program claims 50 % more filament than it lays.",
        "it claims 0.4 % more.",
        50.0, 0.4, 5.0, "%", write, line=r"^; filament needed", within=0.1,  # the claim's two decimals
    )  # fmt: skip


def after_closing() -> Fault:
    """A print that ends after closing time, or long before."""
    slow = replace(PLAIN, speeds=at_speed(8.0), first_speed=8.0, bottom=1, top=1)

    def write(first: str, wrong: bool) -> str:
        return program(job(first, slow, layers=16 if wrong else 2, side=40.0))

    warming = (60 - 20) / 0.4 + (210 - 150) / 2.0  # the plate to 60 degC, the nozzle on from 150 to 210
    value, near = (
        round((sum(motion.seconds for motion in replay(write("", wrong))) + warming) / 60 - 30, 1)
        for wrong in (True, False)
    )
    heat = {"room_c": 20.0, "plate_warming_c_s": 0.4, "nozzle_warming_c_s": 2.0}
    return Fault(
        "after-closing", "begun at 16:30 where the place closes at 17:00, it is printed until after closing.",
        "it is done well before closing.", value, near, 0.0, "min after closing", write,
        within=1.0,  # travel and retraction speed up and brake
        cards={"workshop": {"hours": {"opens": "09:00", "closes": "17:00"}}, "printer": {"heat": heat}},
        start="16:30",
    )  # fmt: skip


def no_beads() -> Fault:
    """Every motion of a block but no filament, or one single layer."""

    def write(first: str, wrong: bool) -> str:
        text = program(job(first, layers=6 if wrong else 1))
        if not wrong:
            return text
        kept = [line for line in text.splitlines() if not line.startswith("; filament")]
        return "\n".join(line.split(" E")[0] if line.startswith("G1 ") else line for line in kept) + "\n"

    laid = sum(motion.is_bead for motion in replay(write("", wrong=False)))
    return Fault(
        "no-beads", "all motions of a block, but no line feeds any filament.", "a sheet of a single layer.",
        0.0, float(laid), 1.0, "beads", write,
    )  # fmt: skip


def numbered(first: str) -> str:
    """Write a block with line numbers and checksums."""
    return program(replace(job(first, layers=6), dialect=Dialect(numbered=True)))


PRINT = (
    off_plate, below_plate, not_homed, heaters_left_on, beyond_flow, speed_cut, nozzle_mismatch, other_filament,
    more_tools, abrasive,
    spool_short, no_shut_down, made_for,
    first_layer_speed, quick_layers, claims_differ, after_closing, no_beads,
)  # fmt: skip
