"""What comments mean: one row a spelling, as real programs and the trade write them.

The spellings are the trade's (common practice, no source); the role names are the design's.
"""

from __future__ import annotations

import base64

import pytest

from viewer.errors import CardError
from viewer.layers.layers import ROLE_NAMES
from viewer.read.comments import dialect
from viewer.read.comments.claims import read_claim
from viewer.read.comments.meaning import BLOCK_LINES, Meaning, classify, stands
from viewer.read.comments.settling import settle_roles


def read(text: str) -> Meaning:
    return classify(text, own_line=True, word_command=False)


def settled(*texts: str) -> list[str]:
    return [meaning.role for meaning in settle_roles([read(text) for text in texts])]


KEYED_ROLES = [
    ("TYPE:SKIRT", "hold-down"),
    ("TYPE:Skirt/Brim", "hold-down"),
    ("TYPE:BRIM", "hold-down"),
    ("TYPE:RAFT", "hold-down"),
    ("TYPE:Draft shield", "hold-down"),
    ("TYPE:WALL-OUTER", "outline"),
    ("TYPE:WALL-INNER", "inner loop"),
    ("TYPE:External perimeter", "outline"),
    ("TYPE:Inner perimeter", "inner loop"),
    ("TYPE:Overhang perimeter", "outline"),
    ("TYPE:Overhang wall", "outline"),
    ("TYPE:Thin wall", "outline"),
    ("TYPE:SKIN", "solid"),
    ("TYPE:FUZZY-SKIN", "outline"),
    ("TYPE:FILL", "infill"),
    ("TYPE:Internal infill", "infill"),
    ("TYPE:Internal solid infill", "solid"),
    ("TYPE:Top solid infill", "solid"),
    ("TYPE:Gap fill", "solid"),
    ("TYPE:Gap infill", "solid"),
    ("TYPE:Bridge infill", "bridge"),
    ("TYPE:Internal bridge infill", "bridge"),
    ("TYPE:Ironing", "solid"),
    ("TYPE:SUPPORT", "support"),
    ("TYPE:SUPPORT-INTERFACE", "support"),
    ("TYPE:Support material interface", "support"),
    ("TYPE:Support outer wall", "support"),
    ("TYPE:Raft infill", "hold-down"),
    ("TYPE:PRIME-TOWER", "purge"),
    ("TYPE:Wipe tower", "purge"),
    ("TYPE:Prime tower infill", "purge"),
    ("TYPE:Custom", "purge"),
    ("TYPE:Unknown", "unlabelled"),
    ("TYPE:TOP", "solid"),
    ("FEATURE: Inner wall", "inner loop"),
    ("FEATURE: Outer wall", "outline"),
    ("FEATURE: Bottom surface", "solid"),
    ("FEATURE: Sparse infill", "infill"),
    ("FEATURE: Internal Bridge", "bridge"),
    ("feature outer perimeter", "outline"),
    ("feature inner perimeter", "inner loop"),
    ("feature solid layer", "solid"),
    ("feature internal single extrusion", "solid"),
    ("role: outline", "outline"),
    ("type: gap_infill", "solid"),
    ("Extrusion role: external-loop", "outline"),
    ("type:outerWall", "outline"),
    ("TYPE:some wondrous outer wall", "outline"),
]

PLAIN_ROLES = [
    ("infill", "infill"),
    ("  fill ", "infill"),
    ("outline", "outline"),
    ("outer perimeter", "outline"),
    ("Outer shell", "outline"),
    ("external loop", "outline"),
    ("external single extrusion", "outline"),
    ("inner perimeter", "inner loop"),
    ("inside loops", "inner loop"),
    ("solid layer", "solid"),
    ("gap fill", "solid"),
    ("skirt", "hold-down"),
    ("'Skirt Path'", "hold-down"),
    ("'Solid Path'", "solid"),
    ("'Sparse Infill Path'", "infill"),
    ("support interface", "support"),
    ("support", "support"),
    ("bridge", "bridge"),
    ("--- infill ---", "infill"),
    ("<loop> inner", "inner loop"),
    ("'Prime Pillar Path'", "purge"),
    ("purge line", "purge"),
    ("WALL:OUTER", "outline"),
]


@pytest.mark.parametrize(("text", "role"), KEYED_ROLES)
def test_marks_with_a_key_count_wherever_they_stand(text: str, role: str) -> None:
    meaning = read(text)
    assert (meaning.kind, meaning.role, meaning.explicit) == ("role", role, True)
    assert stands(meaning, 500)


@pytest.mark.parametrize(("text", "role"), PLAIN_ROLES)
def test_plain_words_are_marks_outside_blocks_only(text: str, role: str) -> None:
    meaning = read(text)
    assert (meaning.kind, meaning.role, meaning.explicit) == ("role", role, False)
    assert stands(meaning, BLOCK_LINES - 1)
    assert not stands(meaning, BLOCK_LINES)


@pytest.mark.parametrize(
    "spelling",
    [
        "outer wall",
        "Outer Walls",
        "OUTER_WALL",
        "outer-wall",
        "outerWall",
        "OuterWall",
        "wall/outer",
        " WALL-OUTER ",
    ],
)
def test_case_hyphens_underscores_and_the_order_of_words_do_not_matter(spelling: str) -> None:
    assert set(dialect.fold(spelling)) == {"outer", "wall"}
    assert read(spelling).role == "outline"
    assert read(f"TYPE:{spelling}").role == "outline"


@pytest.mark.parametrize(("text", "role"), KEYED_ROLES + PLAIN_ROLES)
def test_a_role_beside_a_command_is_another_kind_of_mark(text: str, role: str) -> None:
    meaning = classify(text, own_line=False, word_command=False)
    assert (meaning.kind, meaning.role) == ("role behind", role)


@pytest.mark.parametrize(
    ("alone", "behind", "roles"),
    [
        ([], ["perimeter", "infill"], ["outline", "infill"]),
        ([], ["skirt", "perimeter", "external perimeter"], ["hold-down", "inner loop", "outline"]),
        ([], ["infill", "skirt"], ["", ""]),  # a word or two of a start written by hand
        (["TYPE:FILL"], ["perimeter", "support"], ["infill", "", ""]),
        (["TYPE:SKIRT"], ["perimeter", "infill"], ["hold-down", "outline", "infill"]),
    ],
)
def test_roles_behind_commands_count_where_they_are_the_only_ones(
    alone: list[str], behind: list[str], roles: list[str]
) -> None:
    meanings = [read(text) for text in alone] + [classify(text, False, False) for text in behind]
    assert [one.role if one.kind == "role" else "" for one in settle_roles(meanings)] == roles


@pytest.mark.parametrize(
    ("text", "role"),
    [
        ("<edge>", "outline"),
        ("'Edge Path'", "outline"),
        ('"inside"', "inner loop"),
        ("<roof>", "solid"),
        ("drawing:outer walls", "outline"),
        ("printPart: sparse infill", "infill"),
    ],
)
def test_roles_in_brackets_and_quotes_and_behind_any_key(text: str, role: str) -> None:
    meaning = read(text)
    assert (meaning.kind, meaning.role, meaning.explicit) == ("role", role, False)


@pytest.mark.parametrize(
    "text", ["edge", "</edge>", "adhesion:brim", "supportType:tree", "the key:infill", "infill_pattern:grid"]
)
def test_near_misses_of_these_are_no_roles(text: str) -> None:
    assert read(text).kind != "role"


SETTINGS = [
    "external perimeters extrusion width = 0.45mm",
    "perimeters extrusion width = 0.58mm (5.89mm^3/s)",
    "first layer extrusion width = 0.42mm",
    "  topSolidLayers,4",
    "infillAngles,-45,45",
    "bridge_speed = 40",
    "support material = 0",
    "SUPPORT: false",
    "Support Enable:false",
    "Outer Wall Speed:60",
    "Infill Pattern:grid",
    "Support Roof Pattern:lines",
    "Top/Bottom Pattern:zigzag",
    "Top Surface Skin Layer:0",
    "Raft Base Line Spacing:1.6",
    "support_type = tree(auto)",
    "wall_sequence = inner wall/outer wall",
    "layer_height = 0.2",
    "Layer height: 0.35",
    "layer_change_gcode = ; layer 1",
    "first_layer_height = 0.35",
    "raft_layers = 2",
    "raftLayers,3",
    "filament_diameter: 1.75",
    "filament_density = 1.24",
    "Material Diameter:1.75",
    "filament_cost = 25",
    "filament_type = one",
    "fan_below_layer_time = 60",
    "interlocking_beam_layer_count = 2",
    "OuterWall Time:517.36",
    "InfillDensity:10",
    "MINX:62.277",
    "Layer0 ZOverLap:0.13",
    "Z Seam X:110",
    r"start = G28\n; outer wall\n; layer 3",
    'SETTING_1 {"values": "type = skirt\\n"}',
]


@pytest.mark.parametrize("text", SETTINGS)
def test_settings_are_settings(text: str) -> None:
    assert read(text).kind == "setting"
    assert read_claim(text) == []


NOTHING = [
    "",
    ";;;;;;;;",
    "0.25",
    "========================",
    "===== wipe nozzle end =====",
    "----------Shell Config----------------",
    "support the heater until it is warm",
    "Skirt goes around the knob, so mind the clips",
    "G1 X90 Y-1 F30000",
    "M190 S0 ;Uncomment to add your own bed temperature line",
    "BEFORE_LAYER_CHANGE",
    "layer end",
    "end of layer 3",
    "</layer>",
    "layer 5 fan on",
    "enable nozzle clog detect at 3rd layer",
    "WIPE_START",
    "retract",
    ";retract move;;",
    "travel",
    "thumbnail begin 64x64 6096",
    "infill 20%",
    "custom",
    "process Process1",
]


@pytest.mark.parametrize("text", NOTHING)
def test_remarks_mean_nothing(text: str) -> None:
    assert read(text).kind == "nothing"


LAYERS = [
    # text, number_at, z_at, height_at
    ("LAYER:5", 0, -1, -1),
    ("LAYER:-5", 0, -1, -1),
    ("Layer 1", 0, -1, -1),
    ("Layer #5", 0, -1, -1),
    ("layer=5", 0, -1, -1),
    ("--- layer 5 ---", 0, -1, -1),
    ("CURRENT_LAYER: 5", 0, -1, -1),
    ("layer 3, Z = 0.60", 0, 1, -1),
    ("layer 12 at 2.40 mm", 0, 1, -1),
    ("Layer 12 of 40", 0, -1, -1),
    ("layer num/total_layer_count: 1/30", 0, -1, -1),
    ("Layer 4: z=0.8 h=0.2", 0, 1, 2),
    ("<layer> 0.36", -1, 0, -1),
    ("LAYER_Z:0.3", -1, 0, -1),
    ("Slice 3, 1 Extruder", 0, -1, -1),
    ("start of layer 3", 0, -1, -1),
    ("move to next layer (3)", 0, -1, -1),
    ("LAYER_CHANGE", -1, -1, -1),
    ("CHANGE_LAYER", -1, -1, -1),
    ("Layer change", -1, -1, -1),
    ("AFTER_LAYER_CHANGE", -1, -1, -1),
    ("new layer", -1, -1, -1),
]


@pytest.mark.parametrize(("text", "number_at", "z_at", "height_at"), LAYERS)
def test_layer_marks(text: str, number_at: int, z_at: int, height_at: int) -> None:
    meaning = read(text)
    assert meaning == Meaning("layer", number_at=number_at, z_at=z_at, height_at=height_at, explicit=True)
    assert stands(meaning, 500)


@pytest.mark.parametrize("text", ["move to next layer (3)", "layer 3", "Layer: 12"])
def test_layer_marks_beside_a_command(text: str) -> None:
    assert classify(text, own_line=False, word_command=False) == Meaning("layer", number_at=0, explicit=True)


@pytest.mark.parametrize("text", ["notify layer change", "layer 3 fan on", "LAYER_COUNT:6", "move to infill"])
def test_other_words_beside_a_command_are_no_layer_marks(text: str) -> None:
    assert classify(text, own_line=False, word_command=False).kind == "nothing"


MARKS = [
    ("Z:0.35", Meaning("z", z_at=0, explicit=True)),
    ("Z=0.180", Meaning("z", z_at=0, explicit=True)),
    ("Z_HEIGHT: 0.2", Meaning("z", z_at=0, explicit=True)),
    ("HEIGHT:0.2", Meaning("height", height_at=0, explicit=True)),
    ("LAYER_HEIGHT: 0.2", Meaning("height", height_at=0, explicit=True)),
    ("WIDTH:0.42", Meaning("width", width_at=0, explicit=True)),
    ("LINE_WIDTH: 0.42", Meaning("width", width_at=0, explicit=True)),
    ("width: 0.42 mm", Meaning("width", width_at=0)),
    ("tool H0.200 W0.600", Meaning("width", height_at=0, width_at=1, explicit=True)),
]


@pytest.mark.parametrize(("text", "meaning"), MARKS)
def test_marks_that_carry_a_figure(text: str, meaning: Meaning) -> None:
    assert read(text) == meaning


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("layer 3, Z = 0.60", ["3", "0.60"]),
        ("LAYER:-5", ["-5"]),
        ("WALL-1 .5 1.", ["1", ".5", "1."]),
        ("tool H0.200 W0.600", ["0.200", "0.600"]),
    ],
)
def test_what_counts_as_a_number(text: str, values: list[str]) -> None:
    assert dialect.NUMBER.findall(text) == values


UNREAD = ["TYPE:Wavy", "feature wavy", "wavy edge", "ribbon", "SHELVES:upper", "top"]


@pytest.mark.parametrize("text", UNREAD)
def test_unknown_spellings_are_listed(text: str) -> None:
    meaning = read(text)
    assert meaning.kind == "unread"
    assert stands(meaning, 1)
    assert not stands(meaning, BLOCK_LINES)


PICTURES = [base64.b64encode(bytes(range(n))).decode() for n in (31, 48, 57)]


@pytest.mark.parametrize("text", [*PICTURES, "AElFTkSuQmCC", "QUJDREU="])
def test_pictures(text: str) -> None:
    assert read(text).kind == "picture"


def test_a_plain_wall_is_the_inner_one_beside_an_outer_one() -> None:
    assert settled("TYPE:Perimeter", "TYPE:External perimeter") == ["inner loop", "outline"]


def test_a_plain_wall_alone_is_the_outline() -> None:
    assert settled("perimeter", "infill") == ["outline", "infill"]
    assert settled("TYPE:Perimeter", "TYPE:Overhang perimeter", "TYPE:Inner wall") == [
        "outline",
        "outline",
        "inner loop",
    ]


def test_a_plain_loop_is_the_inner_one_beside_a_plain_wall() -> None:
    assert settled("'Perimeter Path'", "'Loop Path'") == ["outline", "inner loop"]
    assert settled("loop") == ["outline"]


def test_hand_written_start_words_do_not_colour_a_print_without_roles() -> None:
    assert [m.kind for m in settle_roles([read("purge line"), read("LAYER:0")])] == ["nothing", "layer"]
    assert settled("purge line", "infill") == ["purge", "infill"]
    assert settled("TYPE:SKIRT") == ["hold-down"]


def test_further_words_come_first_and_the_longest_of_them_wins() -> None:
    card = {"wavy": "solid", "wavy edge": "outline", "infill": "support"}
    assert classify("TYPE:Wavy", True, False, card).role == "solid"
    assert classify("the wavy edges", True, False, card).role == "outline"
    assert classify("infill", True, False, card).role == "support"
    assert classify("skirt", True, False, card).role == "hold-down"
    assert classify("wavy_speed = 40", True, False, card).kind == "setting"
    assert classify("wavy", False, False, card) == Meaning("role behind", role="solid", explicit=True)


def test_a_further_word_with_an_unknown_role_is_refused() -> None:
    with pytest.raises(CardError, match=r"'wavy' is given the role 'roof tile'.*outline"):
        classify("ribbon", True, False, {"wavy": "roof tile"})


def test_role_names_are_those_of_the_layers() -> None:
    named = {role for group in dialect.ROLE_GROUPS for _, role in group}
    assert named == set(ROLE_NAMES)
