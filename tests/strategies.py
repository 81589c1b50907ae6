"""Hypothesis strategies: programs that mean something, and bytes that need not.

`programs` keeps to what the design text settles, so that two interpreters must agree on it to the last digit:
each number is written with at most five decimals, arcs have matching radii to that rounding, no line
is ambiguous. `dirty_bytes` mixes program text with everything else.
"""

from __future__ import annotations

import math

from hypothesis import strategies as st

PLACE = st.integers(0, 220_000).map(lambda um: um / 1000)
STEP = st.integers(-5_000, 5_000).map(lambda um: um / 1000)
FEED = st.integers(-300, 3_000).map(lambda n: n / 1000)
SPEED = st.sampled_from([0, 300, 1200, 1800.5, 3000, 9000, 42000])
AXES = st.sets(st.sampled_from("XYZ"), min_size=1)


def number(value: float) -> str:
    """Write a number as programs do: no exponent, trailing zeros sometimes dropped by the value itself."""
    text = f"{value:.5f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


@st.composite
def straight(draw: st.DrawFn, values: st.SearchStrategy[float]) -> str:
    """G0 or G1 with some of X Y Z E F, at least one."""
    words = [f"{axis}{number(draw(values))}" for axis in sorted(draw(AXES))] if draw(st.booleans()) else []
    if draw(st.booleans()):
        words.append(f"E{number(draw(FEED))}")
    if not words or draw(st.integers(0, 4)) == 0:
        words.append(f"F{number(draw(SPEED))}")
    return " ".join([draw(st.sampled_from(["G0", "G1", "G01", "G1"])), *words])


@st.composite
def arc_lines(draw: st.DrawFn) -> str:
    """A travel to an arc's start in absolute mm, then the arc: I J or R, helical or not, or full circles."""
    radius = draw(st.integers(500, 40_000)) / 1000
    begin, sweep = draw(st.floats(-math.pi, math.pi)), draw(st.floats(0.2, 6.0))
    clockwise = draw(st.booleans())
    finish = begin - sweep if clockwise else begin + sweep
    centre = (draw(PLACE), draw(PLACE))
    start = (centre[0] + radius * math.cos(begin), centre[1] + radius * math.sin(begin))
    end = (centre[0] + radius * math.cos(finish), centre[1] + radius * math.sin(finish))
    form = draw(st.sampled_from(["ij", "r", "full", "turns"]))
    words = ["G2" if clockwise else "G3"]
    if form in ("ij", "r"):
        words += [f"X{number(end[0])}", f"Y{number(end[1])}"]
    if form == "r":  # near the half circle a radius in decimals leaves the centre undetermined
        words.append(f"R{number(radius if sweep < math.pi else -radius)}")
        if abs(sweep - math.pi) < 0.2:
            words[-1] = f"I{number(centre[0] - start[0])} J{number(centre[1] - start[1])}"
    else:
        words.append(f"I{number(centre[0] - start[0])} J{number(centre[1] - start[1])}")
    if form == "turns":
        words.append(f"P{draw(st.integers(1, 4))}")
    if draw(st.booleans()):
        words.append(f"Z{number(draw(PLACE))}")
    if draw(st.booleans()):
        words.append(f"E{number(draw(FEED))}")
    return f"G21 G90\nG17\nG92.1\nG0 X{number(start[0])} Y{number(start[1])}\n{' '.join(words)}"


@st.composite
def resets(draw: st.DrawFn) -> str:
    """G92 in its forms, and homing."""
    if draw(st.booleans()):
        plain = ["G92", "G92.1", "G92 E0", "G28", "G28 X Y", "G28 Z", "G28 W", "G92 A0 B0", "G92 B0"]
        early = [
            "G161 Z F100",
            "G162 X Y F3000",
            "G161",
            "M132 X Y Z A B",
            "M132 A B",
            "G92 Z-5",
            "G92 X3 Z2",
        ]
        return draw(st.sampled_from([*plain, *early]))
    return " ".join(["G92", *(f"{axis}{number(draw(STEP))}" for axis in sorted(draw(AXES)))])


MODES = st.sampled_from(["G90", "G91", "M82", "M83", "G20", "G21", "G17", "G90 G21", "G21 G91"])
TOOLS = st.sampled_from(["T0", "T1", "T2", "T-1", "T255", "T1000", "M104 S200 T1", "M135 T1"])
FILAMENT = st.sampled_from(
    ["G10", "G11", "M207 S2 F1800", "M208 S0.2", "G10 P0 S195 R160", "M221 S95", "M221 S100"]
)
STACK = st.sampled_from(["M120", "M121", "M622 J1", "M622 J0", "M623", "M623"])
HARMLESS = st.sampled_from(
    [
        "M106 S255",
        "M73 P12 R3",
        "M117 *Washer tray* G1 X5",
        "M117 3 of 20",
        "M118 5 % done",
        "; role: outline",
        "(a comment with G1 X5 in it)",
        "M204 S1500",
        "G4 P200",
        "",
        "M1006 A0 B10 L100 C37 D10 M60 E37 F10 N60",
        "G29.1 Z-0.02",
        "SET_LIMIT ACCEL=5000",
        "let some of the pressure out",
        "M624 AQAAAAAAAAA=",
    ]
)


@st.composite
def programs(draw: st.DrawFn) -> bytes:
    """A valid program of motions and of what changes their meaning."""
    line = st.one_of(
        straight(PLACE),
        straight(STEP),
        straight(STEP),
        arc_lines(),
        resets(),
        MODES,
        TOOLS,
        FILAMENT,
        STACK,
        HARMLESS,
    )
    lines = draw(st.lists(line, min_size=1, max_size=40))
    tail = draw(st.sampled_from(["\n", ""]))
    return ("\n".join(lines) + tail).encode()


FRAGMENTS = st.sampled_from(
    [
        *(
            b"G1 X10 Y10 E1\n",
            b"G1 X1E-5\n",
            b"G2 X1 Y1 I0 J0\n",
            b"G2 R0 X5\n",
            b"G3 I1e9 P999999\n",
            b"\0\0\0\0",
        ),
        *(
            b"G1 X" + b"9" * 60,
            b"N5 G1 X1*300\n",
            b"M622 J0\n",
            b"(",
            b";",
            b"%",
            b"\r",
            b"\r\n",
            b"*",
            b"\xef\xbb\xbf",
        ),
        *(
            b"M117 ",
            b"T",
            b"G",
            b"M",
            b"G92\n",
            b"G20\n",
            b"M200 D1.75\n",
            b"/",
            b" ",
            b"\t",
            b"E+8",
            b"-.015",
            b"\xff\xfe",
        ),
    ]
)


@st.composite
def dirty_bytes(draw: st.DrawFn) -> bytes:
    """Pieces of programs, of commands and of nothing at all, in any order."""
    piece = st.one_of(FRAGMENTS, st.binary(max_size=12), programs().map(lambda p: p[:80]))
    return b"".join(draw(st.lists(piece, max_size=25)))
