"""What programs claim about themselves, in the forms that real programs write.

The amounts are worked out by hand beside each row (60 s a minute, 10 mm a cm, 1000 mm3 a cm3).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from viewer.read.comments.claims import Claim, claim_kind, read_claim
from viewer.read.comments.meaning import classify

TIMES = [
    ("TIME:5520", 5520.0, False),
    ("TIME:3576.65", 3576.65, False),
    ("Print time: 25 minutes", 25 * 60.0, True),
    ("Build time: 0 hours 23 minutes", 23 * 60.0, True),
    ("Build time: 1 hour 32 minutes", 92 * 60.0, True),
    ("estimated printing time (normal mode) = 1h 12m 29s", 3600.0 + 12 * 60.0 + 29.0, True),
    ("estimated printing time = 1d 2h 3m 4s", 86400.0 + 2 * 3600.0 + 3 * 60.0 + 4.0, True),
    ("Print time: 01:32:00", 92 * 60.0, True),
    ("Print time 01:32:00", 92 * 60.0, True),
    ("Print time: 1 day, 01:00:00", 25 * 3600.0, True),
    ("Estimated Print Time: 1:32", 92 * 60.0, False),
    ("Estimated Build Time:   23.5 minutes", 23.5 * 60.0, True),
    ("Total estimated minutes: 23.5", 23.5 * 60.0, True),
    ("Print time: 5520s", 5520.0, True),
    ("print_time = 5520", 5520.0, False),
    ("Print time: 2h05", 7200.0, False),
]


@pytest.mark.parametrize(("text", "seconds", "sure"), TIMES)
def test_times(text: str, seconds: float, sure: bool) -> None:
    (claim,) = read_claim(text)
    assert (claim.quantity, claim.unit, claim.unit_sure) == ("time_s", "s", sure)
    assert claim.value == pytest.approx(seconds)
    assert claim.amount == claim.value
    assert classify(text, True, False).kind == "claim"


def test_the_first_layer_s_time() -> None:
    text = "estimated first layer printing time (normal mode) = 6m 23s"
    assert read_claim(text) == [Claim("first_layer_time_s", 383.0, "s")]
    assert classify(text, True, False).quantity == "first_layer_time_s"


def test_two_times_on_one_line() -> None:
    claims = read_claim("model printing time: 5m 49s; total estimated time: 13m 3s")
    assert claims == [Claim("part_time_s", 349.0, "s"), Claim("time_s", 783.0, "s")]


AMOUNTS = [
    # text, quantity, value, unit, sure, amount
    ("Filament used: 2.7391m", "filament_mm", 2.7391, "m", True, 2739.1),
    ("Filament used:4.35206m", "filament_mm", 4.35206, "m", True, 4352.06),
    ("filament used [mm] = 4579.74", "filament_mm", 4579.74, "mm", True, 4579.74),
    ("filament used [cm3] = 11.02", "filament_mm3", 11.02, "cm3", True, 11020.0),
    ("total filament used [g] = 14.0", "filament_g", 14.0, "g", True, 14.0),
    ("total filament length [mm] : 107.31", "filament_mm", 107.31, "mm", True, 107.31),
    ("total filament volume [cm^3] : 258.12", "filament_mm3", 258.12, "cm3", True, 258120.0),
    ("filament volume [cm^3] : 636.81", "filament_mm3", 636.81, "cm3", True, 636810.0),
    ("total filament weight [g] : 0.33", "filament_g", 0.33, "g", True, 0.33),
    ("Filament Length:0.500090", "filament_mm", 0.50009, "mm", False, 0.50009),
    ("Filament Weight:12.980235", "filament_g", 12.980235, "g", False, 12.980235),
    ("FilamentUsed:4894.7", "filament_mm", 4894.7, "mm", False, 4894.7),
    ("Used: 3479.8", "filament_mm", 3479.8, "mm", False, 3479.8),
    ("Filament length: 1656.3 mm (1.66 m)", "filament_mm", 1656.3, "mm", True, 1656.3),
    ("Plastic volume: 3983.94 mm^3 (3.98 cc)", "filament_mm3", 3983.94, "mm3", True, 3983.94),
    ("Plastic weight: 4.98 g (0.01 lb)", "filament_g", 4.98, "g", True, 4.98),
    ("Filament used: 273.9 cm", "filament_mm", 273.9, "cm", True, 2739.0),
    ("Filament used: 12.3 ml", "filament_mm3", 12.3, "cm3", True, 12300.0),
    ("Filament used: 0.012 kg", "filament_g", 0.012, "kg", True, 12.0),
    ("Filament used: 10 inches", "filament_mm", 10.0, "in", True, 254.0),
    ("material needed: 3,5 g", "filament_g", 3.5, "g", True, 3.5),
    ("filament_used_mm = 12.5", "filament_mm", 12.5, "mm", True, 12.5),
    ("Estimated build volume: 12.3 cm^3", "filament_mm3", 12.3, "cm3", True, 12300.0),
]


@pytest.mark.parametrize(("text", "quantity", "value", "unit", "sure", "amount"), AMOUNTS)
def test_filament(text: str, quantity: str, value: float, unit: str, sure: bool, amount: float) -> None:
    assert read_claim(text) == [Claim(quantity, value, unit, sure)]
    assert read_claim(text)[0].amount == pytest.approx(amount)
    meaning = classify(text, True, False)
    assert (meaning.kind, meaning.quantity) == ("claim", "filament")


def test_two_quantities_on_one_line() -> None:
    assert read_claim("Filament used: 1.968m 5.0g") == [
        Claim("filament_mm", 1.968, "m"),
        Claim("filament_g", 5.0, "g"),
    ]
    assert read_claim("filament used = 143.9mm (1.0cm3)") == [
        Claim("filament_mm", 143.9, "mm"),
        Claim("filament_mm3", 1.0, "cm3"),
    ]


@pytest.mark.parametrize(
    ("text", "claims"),
    [
        ("filament used [mm] = 0, 376.94", [Claim("filament_mm", 376.94, "mm", True, 1)]),
        (
            "filament used [g] = 1.5,2.25",
            [Claim("filament_g", 1.5, "g", True, 0), Claim("filament_g", 2.25, "g", True, 1)],
        ),
        (
            "Filament used: 1.2m, 0.5m",
            [Claim("filament_mm", 1.2, "m", True, 0), Claim("filament_mm", 0.5, "m", True, 1)],
        ),
        ("Extruder 1 filament used: 3.5 g", [Claim("filament_g", 3.5, "g", True, 1)]),
        ("filament used in tool 2 = 12.5 mm", [Claim("filament_mm", 12.5, "mm", True, 2)]),
    ],
)
def test_several_tools(text: str, claims: list[Claim]) -> None:
    assert read_claim(text) == claims


@pytest.mark.parametrize(
    ("text", "claim"),
    [
        ("LAYER_COUNT:6", Claim("layers", 6.0, "")),
        ("Layer count: 43", Claim("layers", 43.0, "")),
        ("total layer number: 30", Claim("layers", 30.0, "")),
        ("total layers count = 56", Claim("layers", 56.0, "")),
        ("   layers: 40", Claim("layers", 40.0, "")),
        ("Number of layers: 40", Claim("layers", 40.0, "")),
        ("MAXZ:20.401", Claim("height_mm", 20.401, "mm", False)),
        ("max_z_height: 6.00", Claim("height_mm", 6.0, "mm", False)),
        ("Object height: 3.5 cm", Claim("height_mm", 3.5, "cm")),
        ("Material cost: 0.23", Claim("cost", 0.23, "", False)),
        ("total filament cost = 0.21", Claim("cost", 0.21, "", False)),
        ("Filament Cost:0.259605", Claim("cost", 0.259605, "", False)),
        ("Estimated cost: €0.43", Claim("cost", 0.43, "€")),
        ("Print cost: 0.43 EUR", Claim("cost", 0.43, "EUR")),
    ],
)
def test_layers_height_and_cost(text: str, claim: Claim) -> None:
    assert read_claim(text) == [claim]
    assert classify(text, True, False).quantity == claim.quantity


@pytest.mark.parametrize(
    "text",
    [
        "Print time: #P_TIME#",
        "Filament cost: None",
        "filament used [mm] = 0.00",
        "Filament used: -1m",
        "TIME:0",
        "TIME:-5",
        "TIME:6666 or so",
        "Filament used: ",
        "total filament cost = 0.0",
        "Layer count: 0",
        "Filament used: 3 spools",
        "Print time: 2024-11-13 00:44:26",
        "LAYER_COUNT:2.5",
        "TIME:" + "9" * 400,
    ],
)
def test_what_is_not_filled_in_claims_nothing(text: str) -> None:
    assert read_claim(text) == []


@pytest.mark.parametrize(
    "text",
    [
        "filament_diameter: 1.75",
        "filament_density: 1.27",
        "filament: 1",
        "filament_cost = 25",
        "filament_spool_weight = 200",
        "filament_prime_volume = 45",
        "filament_change_length = 10",
        "filament_load_time = 5",
        "min_layer_time = 5",
        "slow_down_layer_time = 4",
        "time_cost = 12",
        "TIME_ELAPSED:179.210803",
        "Gcode Generated Time:2024-11-13 00:44:26",
        "estimated printing time (silent mode) = 1h 14m 50s",
        "total filament used for wipe tower [g] = 1.5",
        "Build volume: 200",
        "Machine Height:250",
        "max_z_speed = 12",
        "machine_max_height = 250",
        "layer_count_for_fan = 3",
        "layer 3 of 40",
        "Basic settings: Layer height: 0.3 Walls: 0.8 Fill: 10",
    ],
)
def test_what_looks_alike_is_no_claim(text: str) -> None:
    assert read_claim(text) == []


def test_a_claim_over_two_lines() -> None:
    heading, part = "Filament used:", "Tool 1: 12.5 mm"
    assert classify(heading, True, False).kind == "claim heading"
    assert classify(part, True, False).kind == "claim part"
    assert read_claim(part) == []
    assert read_claim(part, heading) == [Claim("filament_mm", 12.5, "mm", True, 1)]
    assert claim_kind("Build Summary") == ("claim heading", "")


def test_a_word_command_s_count_of_layers() -> None:
    text = "SET_PRINT_STATS_INFO TOTAL_LAYER=56"
    assert classify(text, True, True).kind == "claim"
    assert read_claim(text) == [Claim("layers", 56, "")]


@given(st.integers(0, 400), st.integers(0, 23), st.integers(0, 59), st.integers(0, 59))
def test_every_spelling_of_a_time_gives_the_same_seconds(d: int, h: int, m: int, s: int) -> None:
    seconds = ((d * 24 + h) * 60 + m) * 60 + s
    spellings = (
        f"{d}d {h}h {m}m {s}s",
        f"{d}d{h}h{m}m{s}s",
        f"{d} days {h} hours {m} minutes {s} seconds",
        f"{d} days, {h:02}:{m:02}:{s:02}",
        f"{d * 24 + h}:{m:02}:{s:02}",
        f"{seconds}",
    )
    for spelling in spellings:
        assert [claim.value for claim in read_claim(f"print time: {spelling}")] == (
            [seconds] if seconds else []
        )


@given(st.text(max_size=80), st.text(max_size=20))
def test_no_text_raises(text: str, heading: str) -> None:
    for claim in (
        read_claim(text, heading) + read_claim(f"filament used: {text}") + read_claim(f"time = {text}")
    ):
        assert 0.0 < claim.value < float("inf")
