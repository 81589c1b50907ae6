"""The sample programs: byte-identical when made again, whole, on the plate, true to their own claims.

The small reader below shares no code with what writes the programs.
"""

from __future__ import annotations

import functools
import itertools
import json
import math
import re
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString

FOLDER = Path(__file__).parents[2] / "sample_programs"
GOOD = sorted(path.stem for path in FOLDER.glob("*.gcode"))
EXPECTED = json.loads((FOLDER / "faulty" / "EXPECTED.json").read_text(encoding="utf-8"))
SLUGS = {
    "cut-short", "garbled", "checksum", "no-beads", "unknown-commands", "off-plate", "not-homed",
    "too-hot-for-machine", "heaters-left-on", "no-shutdown", "made-for", "beyond-flow",
    "speed-cut", "nozzle-mismatch", "more-tools", "wrong-heat",
    "abrasive", "spool-short", "topples", "tiny-island", "gaps", "first-layer-speed", "first-layer-height",
    "mid-air-start", "steep-overhang", "long-bridge", "thin-feature", "bare-travel", "quick-layers",
    "claims-differ", "after-closing", "off-in-print", "stands-still", "homed-in-print", "slow-lines",
    "lasting-settings", "plate-still-cold", "part-fan", "drives-into-print", "head-hits-print", "below-plate",
    "beyond-reach",
    "e-counting", "filament-account", "layer-sequence", "thick-layers",
}  # fmt: skip
NOT_BY_HEIGHT = {"lamp_shade_ring_spiral", "drawer_glides_one_by_one"}
"""A height is no layer there: it rises along the bead, or comes back with the second object."""
PLATE_MM, HEIGHT_MM = 220.0, 250.0
FILAMENT_MM2 = math.pi * 1.75**2 / 4
DENSITY_G_MM3 = 1.24e-3


@dataclass
class Bead:
    points: list[tuple[float, float]]
    z: float
    length: float
    fed: float
    speed: float
    role: str
    layer: int

    @property
    def area(self) -> float:
        return self.fed * FILAMENT_MM2 / self.length


@dataclass
class Read:
    beads: list[Bead] = field(default_factory=list)
    bare_travels: list[tuple[int, float]] = field(default_factory=list)  # layer, mm, not retracted
    drawn: dict[int, float] = field(default_factory=dict)
    commands: list[str] = field(default_factory=list)


def read(text: str) -> Read:
    """Replay a program line by line: a plain machine, nothing clever."""
    result = Read()
    at = {"X": 0.0, "Y": 0.0, "Z": 0.0}
    e = f = 0.0
    unit, relative, tool, role, layer = 1.0, False, 0, "", 0
    fed: dict[int, float] = {}
    for line in text.split("\n"):
        if found := re.match(r"; layer (\d+) at", line):
            layer = int(found[1])
        if line.startswith("; role: "):
            role = line[8:]
        code = re.sub(r"^N\d+ ", "", line.split(";")[0].split("*")[0]).strip()
        if not code:
            continue
        result.commands.append(code)
        head, _, rest = code.partition(" ")
        if head == "G20":
            unit = 25.4
        elif head in ("M82", "M83"):
            relative = head == "M83"
        elif head in ("T0", "T1"):
            tool = int(head[1])
        elif head == "G92":
            e = 0.0
        elif head in ("G0", "G1", "G2", "G3"):
            words = {w[0]: float(w[1:]) * unit for w in rest.split() if re.fullmatch(r"[A-Z]-?\d*\.?\d+", w)}
            f = words.get("F", f)
            step = words["E"] - (0 if relative else e) if "E" in words else 0.0
            e = e if relative else words.get("E", e)
            fed[tool] = fed.get(tool, 0.0) + step
            pulled = fed[tool] < result.drawn.get(tool, 0.0) - 0.5
            result.drawn[tool] = max(result.drawn.get(tool, 0.0), fed[tool])
            start, to = (at["X"], at["Y"]), (words.get("X", at["X"]), words.get("Y", at["Y"]))
            z = words.get("Z", at["Z"])
            points, length = _way(head, start, to, words)
            length = math.hypot(length, z - at["Z"])
            if step > 0 and length > 0:
                result.beads.append(Bead(points, z, length, step, f / 60, role, layer))
            elif start != to and not pulled:
                result.bare_travels.append((layer, length))
            at.update(X=to[0], Y=to[1], Z=z)
    return result


def _way(head: str, start: tuple[float, float], to: tuple[float, float], words: dict[str, float]):
    if head not in ("G2", "G3"):
        return [start, to], math.dist(start, to)
    centre = complex(start[0] + words["I"], start[1] + words["J"])
    a, b = complex(*start) - centre, complex(*to) - centre
    assert abs(a) == pytest.approx(abs(b), abs=0.003), "an arc must end on the circle it begins on"
    ratio = b / a if head == "G3" else a / b
    sweep = math.atan2(ratio.imag, ratio.real) % math.tau
    turn = sweep if head == "G3" else -sweep
    dots = [centre + a * complex(math.cos(turn * k / 24), math.sin(turn * k / 24)) for k in range(25)]
    return [(d.real, d.imag) for d in dots], abs(a) * sweep


@functools.cache
def good(name: str) -> Read:
    return read((FOLDER / f"{name}.gcode").read_text(encoding="ascii"))


def faulty(name: str, near: bool = False) -> Read:
    path = FOLDER / "faulty" / EXPECTED[name]["near_miss" if near else "file"]
    return read(path.read_text(encoding="latin-1"))


def footprint(beads: list[Bead], width: float = 0.45) -> shapely.Geometry:
    lines = np.array([LineString(bead.points) for bead in beads])
    return shapely.union_all(shapely.buffer(lines, width / 2, quad_segs=2))


def unheld(beads: list[Bead]) -> list[tuple[float, float, float]]:
    """Return height and middle of what touches no bead of the height below."""
    heights = sorted({round(b.z, 3) for b in beads})
    prints = [footprint([b for b in beads if round(b.z, 3) == z]) for z in heights]
    return [
        (z, part.centroid.x, part.centroid.y)
        for z, below, here in zip(heights[1:], prints, prints[1:], strict=False)
        for part in getattr(here, "geoms", [here])
        if not part.intersects(below)
    ]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("samples")
    subprocess.run([sys.executable, str(FOLDER / "make.py"), str(folder)], check=True)
    return folder


def test_making_them_again_gives_the_same_bytes(made: Path) -> None:
    fresh = {p.relative_to(made): p.read_bytes() for p in made.rglob("*") if p.is_file()}
    kept = [*FOLDER.glob("*.gcode"), *(FOLDER / "faulty").iterdir()]
    assert {p.relative_to(FOLDER) for p in kept} == set(fresh)
    assert [str(p.relative_to(FOLDER)) for p in kept if fresh[p.relative_to(FOLDER)] != p.read_bytes()] == []


def test_there_are_at_least_eight_and_the_manual_names_each() -> None:
    words = (FOLDER / "README.md").read_text(encoding="utf-8")
    assert len(GOOD) >= 8
    assert [name for name in GOOD if f"{name}.gcode" not in words] == []


def test_sizes() -> None:
    assert {n for n in GOOD if (FOLDER / f"{n}.gcode").stat().st_size > 1_500_000} == set()
    assert {p.name for p in (FOLDER / "faulty").glob("*.gcode") if p.stat().st_size > 60_000} == set()


@pytest.mark.parametrize("name", GOOD)
def test_the_first_lines_speak_or_there_is_no_comment_at_all(name: str) -> None:
    text = (FOLDER / f"{name}.gcode").read_text(encoding="ascii")
    if name.endswith("_bare"):
        assert ";" not in text
        assert "(" not in text
    else:
        assert re.match(r"; (A|Two) [a-z].{40,}", text)


@pytest.mark.parametrize("name", GOOD)
def test_filament_is_what_the_program_claims(name: str) -> None:
    text = (FOLDER / f"{name}.gcode").read_text(encoding="ascii")
    if name.endswith("_bare"):
        assert sum(good(name).drawn.values()) > 100
        return
    lengths = [float(v) for v in re.findall(r"([\d.]+) mm", re.search(r"; filament needed: .*", text)[0])]
    masses = [float(v) for v in re.findall(r"([\d.]+) g", re.search(r"; filament mass: .*", text)[0])]
    drawn = [v for _, v in sorted(good(name).drawn.items())]
    assert lengths == pytest.approx(drawn, rel=1e-3)
    assert masses == pytest.approx([v * FILAMENT_MM2 * DENSITY_G_MM3 for v in drawn], rel=1e-3)


@pytest.mark.parametrize("name", GOOD)
def test_layers_are_as_many_as_the_program_claims(name: str) -> None:
    text = (FOLDER / f"{name}.gcode").read_text(encoding="ascii")
    claimed, marks = re.search(r"number of layers: (\d+)", text), re.findall(r"layer \d+ at", text)
    assert (int(claimed[1]) if claimed else 0) == len(marks)


@pytest.mark.parametrize("name", GOOD)
def test_beads_lie_on_the_plate_and_below_the_top(name: str) -> None:
    beads = good(name).beads
    xs = [v for b in beads for p in b.points for v in p]
    assert min(xs) - 0.3 >= 0
    assert max(xs) + 0.3 <= PLATE_MM
    assert all(0 < b.z <= HEIGHT_MM for b in beads)


@pytest.mark.parametrize("name", GOOD)
def test_sections_are_those_of_oblong_beads(name: str) -> None:
    """A = (w - t) t + pi t^2/4 for w from 0.4 to 0.6 mm and t up to 0.3 mm: between nothing and 0.161 mm2."""
    areas = [b.area for b in good(name).beads if b.length > 0.5]
    assert max(areas) < 0.1625
    usual = sorted(areas)[len(areas) // 2]
    thickness = 0.24 if name in ("coat_hook_pause", "lamp_shade_ring_spiral") else 0.2
    width = 0.5 if name == "lamp_shade_ring_spiral" else 0.45
    assert usual == pytest.approx((width - thickness) * thickness + math.pi * thickness**2 / 4, rel=0.02)


@pytest.mark.parametrize("name", [n for n in GOOD if not n.endswith("_bare")])
def test_no_layer_is_hurried(name: str) -> None:
    seconds: dict[tuple[int, int], float] = {}
    run, last = 0, 0
    for bead in good(name).beads:
        run, last = run + (bead.layer < last), bead.layer
        seconds[run, bead.layer] = seconds.get((run, bead.layer), 0.0) + bead.length / bead.speed
    assert min(s for (_, layer), s in seconds.items() if layer) >= 8.0


@pytest.mark.parametrize("name", [n for n in GOOD if n not in NOT_BY_HEIGHT])
def test_everything_stands_on_something(name: str) -> None:
    assert unheld([b for b in good(name).beads if b.points[0][1] > 10]) == []


@pytest.mark.parametrize("name", GOOD)
def test_the_shut_down_is_there(name: str) -> None:
    end = good(name).commands[-6:]
    assert any(re.fullmatch(r"M104( T\d)? S0", c) for c in end)
    assert "M140 S0" in end
    assert end[-1] == "M84"


def test_checksums_and_numbers_of_the_one_in_inches() -> None:
    lines = (FOLDER / "drawer_glide_inches.gcode").read_bytes().split(b"\n")
    numbered = [line for line in lines if line and not line.startswith(b";")]
    for k, line in enumerate(numbered, start=1):
        body, star, stated = line.rpartition(b"*")
        assert star == b"*"
        assert functools.reduce(lambda a, b: a ^ b, body) == int(stated)
        assert body.startswith(b"N%d " % k)


def test_what_each_one_is_there_for() -> None:
    roles = {b.role for b in good("tap_washer_tray").beads}
    assert roles >= {"brim", "outline", "inner loop", "infill", "solid", "support", "purge line"}
    assert {c[:2] for c in good("radiator_knob_arcs").commands} >= {"G2", "G3"}
    assert set(good("radiator_dial_two_tools").drawn) == {0, 1}
    assert "M0" in good("coat_hook_pause").commands
    heights = [b.z for b in good("drawer_glides_one_by_one").beads]
    assert any(a == 8.0 and b == 0.2 for a, b in itertools.pairwise(heights))
    wall = [b.z for b in good("lamp_shade_ring_spiral").beads if b.layer > 3]
    assert wall == sorted(wall)
    assert len({round(z, 3) for z in wall}) > 5000


def test_each_slug_has_a_pair() -> None:
    assert {entry["slug"] for entry in EXPECTED.values()} == SLUGS
    assert set(EXPECTED) >= SLUGS
    names = {p.name for p in (FOLDER / "faulty").glob("*.gcode")}
    assert names == {entry[key] for entry in EXPECTED.values() for key in ("file", "near_miss")}


@pytest.mark.parametrize("name", sorted(EXPECTED))
def test_a_pair_says_what_it_is_and_lies_on_two_sides_of_the_limit(name: str) -> None:
    entry = EXPECTED[name]
    first, near = (
        (FOLDER / "faulty" / entry[key]).read_bytes().split(b"\n")[0].decode()
        for key in ("file", "near_miss")
    )
    assert first.startswith(f"; Faulty on purpose ({name}): ")
    assert near.startswith(f"; Near miss of {name}: ")
    if entry["layer"]:
        x, y = entry["place_mm"]
        assert f"x {x:.1f}, y {y:.1f}, layer {entry['layer']}." in first
    below, above = sorted((entry["value"], entry["near_miss_value"]))
    assert below <= entry["limit"] <= above
    assert below < above


@pytest.mark.parametrize("near", [False, True])
def test_the_island_of_mid_air_start(near: bool) -> None:
    found = unheld([b for b in faulty("mid-air-start", near).beads if b.layer])
    assert [(round(z, 2), round(x), round(y)) for z, x, y in found] == ([] if near else [(2.0, 126, 110)])


@pytest.mark.parametrize(("near", "reach"), [(False, 224.0), (True, 219.5)])
def test_how_far_off_plate_reaches(near: bool, reach: float) -> None:
    beads = [b for b in faulty("off-plate", near).beads if b.layer == 3]
    assert max(p[0] for b in beads for p in b.points) + 0.225 == pytest.approx(reach, abs=0.002)


@pytest.mark.parametrize(("near", "flow"), [(False, "value"), (True, "near_miss_value")])
def test_flow_of_beyond_flow(near: bool, flow: str) -> None:
    most = max(b.area * b.speed for b in faulty("beyond-flow", near).beads if b.length > 5 and b.layer)
    assert most == pytest.approx(EXPECTED["beyond-flow"][flow], rel=0.01)


@pytest.mark.parametrize(("near", "degrees"), [(False, 60.0), (True, 40.0)])
def test_lean_of_steep_overhang(near: bool, degrees: float) -> None:
    beads = faulty("steep-overhang", near).beads
    right = {k: max(p[0] for b in beads if b.layer == k for p in b.points) for k in range(2, 19)}
    leans = {k: math.degrees(math.atan((right[k] - right[k - 1]) / 0.2)) for k in range(3, 19)}
    assert leans == pytest.approx({k: degrees if 5 <= k <= 16 else 0.0 for k in range(3, 19)}, abs=0.5)


@pytest.mark.parametrize(("near", "most"), [(False, 60.0), (True, 5.0)])
def test_travel_of_bare_travel(near: bool, most: float) -> None:
    longest = max(length for layer, length in faulty("bare-travel", near).bare_travels if layer == 5)
    assert (longest > 40) if not near else (longest <= most)


@pytest.mark.parametrize(("near", "key"), [(False, "value"), (True, "near_miss_value")])
def test_speeds_and_heights_of_first_layers(near: bool, key: str) -> None:
    fast = [b.speed for b in faulty("first-layer-speed", near).beads if b.layer == 1]
    assert max(fast) == pytest.approx(EXPECTED["first-layer-speed"][key])
    for name in ("first-layer-height", "first-layer-height.thin", "off-plate.below"):
        z = min(b.z for b in faulty(name, near).beads if b.layer == 1)
        thick = 0.4 * EXPECTED[name][key]  # in diameters of a nozzle of 0.4 mm
        assert z == pytest.approx(thick if name != "off-plate.below" else (0.2 if near else -0.2))


@pytest.mark.parametrize(("near", "key"), [(False, "value"), (True, "near_miss_value")])
def test_time_filament_and_claims(near: bool, key: str) -> None:
    layer = [b for b in faulty("quick-layers", near).beads if b.layer == 8]
    travel = EXPECTED["quick-layers"][key] - sum(b.length / b.speed for b in layer)
    assert 0.2 < travel < 0.6
    mass = sum(faulty("spool-short", near).drawn.values()) * FILAMENT_MM2 * DENSITY_G_MM3
    assert mass == pytest.approx(EXPECTED["spool-short"][key], abs=0.01)
    text = (FOLDER / "faulty" / EXPECTED["claims-differ"]["near_miss" if near else "file"]).read_text("ascii")
    claimed = float(re.search(r"filament needed: ([\d.]+)", text)[1])
    drawn = sum(faulty("claims-differ", near).drawn.values())
    assert 100 * (claimed / drawn - 1) == pytest.approx(EXPECTED["claims-differ"][key], abs=0.05)


@pytest.mark.parametrize("near", [False, True])
def test_what_the_faulty_files_lack(near: bool) -> None:
    assert ("M84" in faulty("cut-short", near).commands) == near
    assert bool(faulty("no-beads", near).beads) == near
    assert any(c.startswith("G28") for c in faulty("not-homed", near).commands) == near
    off = [c for c in faulty("heaters-left-on", near).commands if re.fullmatch(r"M104( T0)? S0", c)]
    assert bool(off) == near
    data = (FOLDER / "faulty" / EXPECTED["checksum"]["near_miss" if near else "file"]).read_bytes()
    pairs = [line.rpartition(b"*") for line in data.split(b"\n") if line.startswith(b"N")]
    wrong = [b for b, _, s in pairs if functools.reduce(lambda p, q: p ^ q, b) != int(s)]
    assert len(wrong) == (0 if near else 1)
