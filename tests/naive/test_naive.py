"""The second interpreter against published examples, a general-purpose library and sums done by hand."""

from __future__ import annotations

import math
import warnings

import pytest

from tests.naive.arcs import centre_from_radius, spiral_length
from tests.naive.reader import interpret
from tests.naive.result import NaiveResult
from tests.naive.words import parse_line, split_lines

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    from pygcode import Line as PeerLine
    from pygcode import Machine as PeerMachine


def run(text: str, **options: float) -> NaiveResult:
    return interpret(text.encode(), **options)  # type: ignore[arg-type]


def kinds(result: NaiveResult) -> list[str]:
    return [m.kind for m in result.motions]


def ends(result: NaiveResult) -> list[tuple[float, float, float]]:
    return [tuple(round(v, 9) for v in m.end) for m in result.motions]  # type: ignore[misc]


# --- published ---


def test_arc_of_the_rs274_report() -> None:
    """NISTIR 6556 (2000), section 3.5.3: about (10, 11), radius 5, clockwise from (7, 7) to (10, 16)."""
    result = run("G0 X7 Y7 F600\nG17 G2 x10 y16 i3 j4 E1\n")
    arc = result.motions[1]
    assert arc.arc
    # from the report's numbers alone: start angle atan2(-4, -3), end angle 90 degrees, clockwise
    turned = (math.atan2(-4, -3) - math.pi / 2) % (2 * math.pi)
    assert turned == pytest.approx(2.4981, abs=5e-5)
    assert arc.path_mm == pytest.approx(5 * turned, rel=1e-12)
    assert arc.path_mm == pytest.approx(12.490, abs=5e-4)
    assert arc.end == (10, 16, 0)
    assert arc.low == pytest.approx((5, 7, 0))  # the leftmost point lies on the way, not at an end
    assert arc.high == pytest.approx((10, 16, 0))


def test_blanks_anywhere_of_the_rs274_report() -> None:
    """NISTIR 6556, section 3.3: `g0x +0. 12 34y 7` is `g0 x+0.1234 y7`."""
    assert ends(run("g0x +0. 12 34y 7")) == [(0.1234, 7, 0)]


@pytest.mark.parametrize(
    "program",
    [
        "G21\nG90\nG1 X10 Y5 F1200\nG1 X12\nG0 Z3\nG91\nG1 X1 Y-1 Z0.5\nG1 X-3\nG90\nG1 X4 Y4\n",
        "G90\nG0 X1.5 Y2.25 Z-.5\nG1 X-.015 Y8\nG91\nG0 Z.2\nG0 Z.2\nG90\nG0 Z10\n",
        "G90\nG17\nG1 X10 Y10 F600\nG2 X20 Y10 I5 J0\nG3 X10 Y10 I-5 J0\nG1 X0\n"
        "G91\nG2 X2 Y0 I1 J0\nG90\nG1 Y3\n",
    ],
)
def test_positions_agree_with_pygcode_line_by_line(program: str) -> None:
    """Positions after each line against the general-purpose library pygcode."""
    peer = PeerMachine()
    lines = program.splitlines()
    for count, text in enumerate(lines, start=1):
        peer.process_block(PeerLine(text).block)
        place = peer.abs_pos.values
        ours = run("\n".join(lines[:count])).end_position
        assert ours == pytest.approx((place["X"], place["Y"], place["Z"]), abs=1e-12), text


# --- by hand: modes and kinds ---


def test_kinds_lengths_and_times() -> None:
    result = run("M83\nG1 X3 Y4 F60\nG1 X3 Y4 Z12 E2\nG1 E-1 F30\nG1 E1\nG1 X0 E-.5\nG1 F600\n")
    assert kinds(result) == ["travel", "bead", "retract", "prime", "wipe"]
    assert [m.path_mm for m in result.motions] == [5, 12, 0, 0, 3]
    assert result.nominal_s == pytest.approx(5 + 12 + 2 + 2 + 6)
    assert result.extent_mm == ((3, 4, 0), (3, 4, 12))
    assert result.drawn_mm == {0: 2}
    assert result.net_mm == pytest.approx(1.5)


def test_inches_hold_for_speed_and_filament_too() -> None:
    motion = run("G20\nM83\nG1 X1 E.5 F60\n").motions[0]
    assert (motion.path_mm, motion.filament_mm, motion.speed_mm_s) == pytest.approx((25.4, 12.7, 25.4))


def test_relative_filament_under_m83_or_g91() -> None:
    text = "G91\nG1 X1 E1\nG1 X1 E1\nG90\nG1 X5 E3\nM83\nG1 X6 E3\nG91\nG90\nG1 X7 E3\nM82\nG1 X8 E10\n"
    assert [m.filament_mm for m in run(text).motions] == [1, 1, 1, 3, 3, 1]


def test_g92_moves_nothing_and_shifts_what_follows() -> None:
    result = run("G1 X10 Y10\nG92 X0 E5\nG1 X1 E6\nG92\nG1 Y1\nG92.1\nG1 X0 Y0\nG91\nG92 X3\nG90\nG1 X4\n")
    assert ends(result) == [(10, 10, 0), (11, 10, 0), (11, 11, 0), (0, 0, 0), (1, 0, 0)]
    assert result.motions[1].filament_mm == 1


def test_homing_puts_the_named_axes_home_and_drops_their_offset() -> None:
    text = "G1 X10 Y10 Z5\nG92 X0 Y0\nG28 X\nG1 X1 Y1\nG28 W\nG1 Y2\n"
    result = interpret(text.encode(), home=(-5.0, 1.0, 0.5))
    assert ends(result) == [(10, 10, 5), (1, 11, 5), (-5, 2, 0.5)]
    assert result.motions[1].path_mm == pytest.approx(math.hypot(6, 1))


def test_machine_coordinates_for_one_line() -> None:
    assert ends(run("G92 X100\nG53 G1 X7\nG1 X107\nG91\nG53 G0 X1 Y2\nG1 X1\n")) == [
        (7, 0, 0),
        (1, 2, 0),
        (2, 2, 0),
    ]


def test_several_g_words_on_a_line_and_words_before_them() -> None:
    result = run("G21 G91 G1 X1 F120\nX1 G1 Y1\nG90 F60\nG1 X0\n")
    assert ends(result) == [(1, 0, 0), (2, 1, 0), (0, 1, 0)]
    assert [m.speed_mm_s for m in result.motions] == [2, 2, 1]


def test_speed_before_the_first_f_and_f0() -> None:
    result = run("G1 X1\nG0 X2 F60\nG1 X3 F0\nG1 X4 F-5\n")
    assert [m.speed_mm_s for m in result.motions] == [0, 1, 1, 1]
    assert result.nominal_s == 3


# --- by hand: arcs ---


def test_full_circle_with_and_without_axis_words() -> None:
    for text in ("G1 X10\nG2 X10 Y0 I5 J0", "G1 X10\nG2 I5", "G1 X10\nG3 I5 P1"):
        arc = run(text).motions[1]
        assert arc.path_mm == pytest.approx(10 * math.pi)
        assert (arc.low, arc.high) == (pytest.approx((10, -5, 0)), pytest.approx((20, 5, 0)))


def test_helix_and_turns() -> None:
    helix = run("G2 Z0.6 I3 J4 P2").motions[0]
    assert helix.path_mm == pytest.approx(math.hypot(2 * 2 * math.pi * 5, 0.6))
    assert helix.end == (0, 0, 0.6)


def test_radius_words_short_and_long_way() -> None:
    short = run("G2 X10 Y10 R10").motions[0]
    assert short.path_mm == pytest.approx(10 * math.pi / 2)
    assert short.high == pytest.approx((10, 10, 0))
    long = run("G2 X10 Y10 R-10").motions[0]
    assert long.path_mm == pytest.approx(10 * 3 * math.pi / 2)
    assert (long.low, long.high) == (pytest.approx((-10, 0, 0)), pytest.approx((10, 20, 0)))
    assert centre_from_radius((0, 0), (10, 10), 10, True) == pytest.approx((10, 0))
    assert centre_from_radius((0, 0), (10, 10), 10, False) == pytest.approx((0, 10))
    assert run("G2 X10 R1").motions[0].path_mm == pytest.approx(5 * math.pi)  # too small: half circle


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("G17 G2 X2 I1", (0, 0, 0), (2, 1, 0)),  # clockwise seen from +Z: over the top
        ("G18 G2 X2 I1", (0, 0, -1), (2, 0, 0)),  # seen from +Y, Z first: X2 lies behind, through -Z
        ("G19 G2 Y2 J1", (0, 0, 0), (0, 2, 1)),
        ("G19 G3 Y2 J1", (0, 0, -1), (0, 2, 0)),
    ],
)
def test_planes(text: str, low: tuple[float, ...], high: tuple[float, ...]) -> None:
    arc = run(text).motions[0]
    assert arc.path_mm == pytest.approx(math.pi)
    assert (arc.low, arc.high) == (pytest.approx(low), pytest.approx(high))


def test_arc_under_g91_as_in_nozzle_wipes() -> None:
    result = run("G1 X85 Y185\nG91\nG2 I1 J0 X2 Y0 F2000\nG2 I-0.75 J0 X-1.5\n")
    assert ends(result)[1:] == [(87, 185, 0), (85.5, 185, 0)]
    assert [m.path_mm for m in result.motions[1:]] == pytest.approx([math.pi, 0.75 * math.pi])


def test_radii_that_disagree_give_a_spiral() -> None:
    result = run("G2 X-2 Y0 I-1.5 J0\n")  # radius 1.5 at the start, 0.5 at the end
    assert result.arcs_disagreeing == [1]
    # a spiral r = a + b t has the length of integral sqrt(r^2 + b^2): closed form of any calculus text
    b = 1.0 / math.pi

    def form(r: float) -> float:
        return (r * math.hypot(r, b) + b * b * math.asinh(r / b)) / 2 / b

    assert result.motions[0].path_mm == pytest.approx(form(1.5) - form(0.5), rel=1e-9)
    assert spiral_length(2, 2, math.pi, 0) == pytest.approx(2 * math.pi)


def test_arc_without_centre_and_other_motions_go_straight() -> None:
    result = run("G2 X3 Y4\nG5 I1 J1 P1 Q1 X3 Y14\nG29.1 Z-0.02\nG2814 Z0.3\nM17 Z0.3\nG380 S3 Z-5\n")
    assert [m.path_mm for m in result.motions] == [5, 10, 5]
    assert (result.arcs, result.arcs_without_centre) == (0, [1])
    assert result.straightened == {"G5": 1, "G380": 1}


# --- by hand: filament ---


def test_retraction_by_g10_and_g11() -> None:
    result = run("M207 S2 F1800\nM208 S.5\nG10\nG10\nG11\nG11\nG10 P0 S195\nG10 L2 X5\nG11\n")
    assert [(m.kind, m.filament_mm, m.speed_mm_s) for m in result.motions] == [
        ("retract", -2, 30),
        ("prime", 2.5, 30),
    ]
    assert run("G10\nG11").nominal_s == pytest.approx(2 / 35)


def test_drawn_length_counts_only_new_highs_of_each_tool() -> None:
    text = (
        "M83\nT0\nG1 X1 E10\nG1 E-4\nG1 E4\nT1\nG1 X2 E1\nG1 E-3\nG1 X3 E5\n"
        "T255\nT-1\nT1000\nG1 X4 E1\nM104 S200 T0\nG1 X5 E1\nM6 T2\nG1 E1\n"
    )
    assert run(text).drawn_mm == {0: 10, 1: 5, 2: 1}


def test_volumetric_filament_and_flow_factor() -> None:
    area = math.pi * 1.75**2 / 4
    text = (
        f"M83\nM200 D1.75\nG1 X1 E{area:.12f}\nM200 D0\nM221 S50\nG1 X2 E1\n"
        "M221 S200 T1\nT1\nG1 X3 E1\nT0\nG1 X4 E1\n"
    )
    assert [m.filament_mm for m in run(text).motions] == pytest.approx([1, 0.5, 2, 0.5])


def test_switched_extrusion_only_where_there_is_no_e() -> None:
    assert kinds(run("M101\nG1 X1\nG1 Z1\nM103\nG1 X2\n")) == ["bead", "travel", "travel"]
    assert kinds(run("M101\nG1 X1\nM103\nG1 X2 E1\n")) == ["travel", "bead"]


def test_push_and_pop_keep_modes_not_positions() -> None:
    result = run("M83\nM120\nM82\nG91\nG1 X5 F60\nM121\nG1 X1 E1\nG1 X2 E1\nM121\nG1 X3 E1\n")
    assert ends(result) == [(5, 0, 0), (1, 0, 0), (2, 0, 0), (3, 0, 0)]
    assert [m.filament_mm for m in result.motions] == [0, 1, 1, 1]


def test_conditional_blocks() -> None:
    text = (
        "M622 J1\nG1 X1\nM622 J0\nG1 X9\nM622 J1\nG1 X8\nM623\nG28\nM623\n"
        "G1 X2\nM623\nM622.1 S0\nG1 X3\nM623\nG1 X4\n"
    )
    result = run(text)
    assert ends(result) == [(1, 0, 0), (2, 0, 0), (3, 0, 0), (4, 0, 0)]
    assert (result.skipped_lines, result.commands["G28"], result.commands["G1"]) == (3, 1, 6)


# --- by hand: text ---


def test_commands_are_counted_by_name() -> None:
    text = (
        "G01 X1\ng1 y2\nG29.2 S0\nT0\nT-1\nM1006 A0 B0 M100 E37 F10 N100\n"
        "M117 G1 X100\nM117 3 of 20\nM624 AQAA=\nM1002 judge_flag g29_x\nM73 5\n"
    )
    result = run(text)
    assert result.commands == {
        "G1": 2,
        "G29.2": 1,
        "T0": 1,
        "T-1": 1,
        "M1006": 1,
        "M117": 2,
        "M624": 1,
        "M1002": 1,
        "M73": 1,
    }
    assert ends(result) == [(1, 0, 0), (1, 2, 0)]


def test_text_that_is_not_carried_out() -> None:
    text = (
        "%\n; G1 X1\n(G1 X2)\nG1 (X3) Y3 ; X4\n....\nrelease some of the pressure\n"
        "retract a tiny bit / 120mm/s\n"
        "PRINT_START EXT_TEMP=200 X=5\nprint_end\n/G1 X7\nX8 Y8\n\n"
    )
    result = run(text)
    assert ends(result) == [(0, 3, 0)]
    assert (result.doubtful_lines, result.macro_lines, result.deleted_lines) == ([5, 6, 7], [8, 9], [10])
    assert (result.bare_axis_lines, result.lines) == (1, 12)


def test_bare_axis_words_when_a_card_allows_them() -> None:
    assert ends(interpret(b"G91\nG1 X1\nX1 Y1\nG28 X Y\n", bare_axis_words=True)) == [(1, 0, 0), (2, 1, 0)]
    assert ends(interpret(b"G91\nG1 X1\nX1 Y1\n")) == [(1, 0, 0)]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("G1X1.5Y2", {"X": 1.5, "Y": 2}),
        ("\tG1 Z+20 E-5", {"Z": 20, "E": -5}),
        ("G1 X.5 Y-.015 E+8", {"X": 0.5, "Y": -0.015, "E": 8}),
        ("g 1 x 1 . 5 y\t2", {"X": 1.5, "Y": 2}),
        ("N12 G1 X1.23456789012345678 *7", {"X": 1.23456789012345678}),
        ("G28 X Y", {"X": None, "Y": None}),
        ("G1 101.694 Y5", {"Y": 5}),
        ("G1 2 Y5", {"Y": 5}),
        ("G1 X1.2.3 Y--5 Z10-5 E1", {"E": 1}),
        ("G1 X1 X2", {"X": 1}),
        ("G1 X" + "9" * 400 + " Y1", {"Y": 1}),
    ],
)
def test_words_of_a_line(text: str, words: dict[str, float | None]) -> None:
    line = parse_line(text.encode(), 1)
    found: dict[str, float | None] = {}
    for word in line.words:
        if word.letter != "G":
            found.setdefault(word.letter, word.value)
    assert found == words


def test_exponents_are_left_out_and_counted() -> None:
    result = run("M83\nG1 X1 E1E-5\nG1 X2e-05 Y1\nG1X3E-0.5\nG1 X4 E-5\n")
    assert (kinds(result), result.exponent_words) == (["travel", "travel", "wipe", "wipe"], 2)
    assert ends(result)[1] == (1, 1, 0)


def test_checksums_and_line_numbers() -> None:
    def summed(text: str) -> str:
        total = 0
        for byte in text.encode():
            total ^= byte
        return f"{text}*{total}"

    good = [
        summed("N1 G1 X1"),
        summed("N2 G1 X2 "),
        "M117 *Start Clean*",
        summed("N3 M110 N0"),
        summed("N1 G1 X3"),
    ]
    assert run("\n".join(good)).checksum_mismatches == []
    assert run("\n".join(good)).n_out_of_order == []
    bad = [*good[:2], "N3 G1 X9*1", summed("N2 G1 X4"), "G1 X5 *0 ; told"]
    result = run("\n".join(bad))
    assert (result.checksum_mismatches, result.n_out_of_order) == ([3, 5], [4])
    assert result.end_position == (5, 0, 0)


def test_known_checksum() -> None:
    """`N3 T0*57`: the example of the trade's public wiki page on G-code (value from memory)."""
    assert parse_line(b"N3 T0*57", 1).checksum_ok is True
    assert parse_line(b"N3 T0*58", 1).checksum_ok is False


def test_ends_of_lines() -> None:
    assert split_lines(b"\xef\xbb\xbfa\r\nb\rc\nd") == [b"a", b"b", b"c", b"d"]
    assert [run(t).lines for t in ("", "\n", "a", "a\n", "a\n\n", "a\r\n")] == [0, 1, 1, 1, 2, 1]


def test_zero_bytes_and_far_places() -> None:
    result = interpret(b"G1 X1\nG1 X2\0\0\0 Y3\nG1 X200000\n")
    assert (result.zero_bytes, result.far_lines, result.bad_words) == (3, [3], 1)
    assert ends(result)[1] == (2, 3, 0)
