"""The job sheet: one page that holds what it promises, and a first layer to scale."""

from __future__ import annotations

import base64
import re
import struct
from datetime import datetime
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import msgspec
import numpy as np
import pytest
import shapely

from tests.shown.conftest import SAMPLES, opened
from viewer import Program
from viewer.__main__ import main
from viewer.cards import Plate
from viewer.checks.finding import Finding, NotChecked, Severity
from viewer.checks.run import Report
from viewer.jit import compiler_is_off
from viewer.program import open_program, with_cards
from viewer.shown.paper.first_layer_picture import HOLD_INK, PART_INK, PLATE_INK, first_layer_svg
from viewer.shown.paper.job_sheet import job_sheet
from viewer.shown.paper.part_image import DRAWN_PX, part_image
from viewer.shown.pictures.png import SIGNATURE

START = datetime(2026, 3, 2, 16, 30)
FINDING = Finding(
    slug="off-plate",
    severity=Severity.STOP,
    sentence="Beads <b> & off",
    lines=(12,),
    layer=3,
    unit="",
    remedy="Move it.",
)


SIMPLE_TAGS = {
    "html", "head", "meta", "title", "style", "body", "h1", "h2", "table", "tr", "th", "td", "p", "b", "i", "br",
    "svg", "path", "rect", "circle",
}  # fmt: skip


class Tags(HTMLParser):
    """The tags of a page, and whether they are closed in order."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.seen: set[str] = set()
        self.open: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)
        if tag not in ("meta", "br", "path", "rect", "circle"):
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def text_of(page: str) -> str:
    return " ".join(re.sub(r"<[^>]*>", " ", page).split())


def test_what_stands_on_it(hook: Program) -> None:
    page = job_sheet(hook, Report((FINDING,), (NotChecked("spool-short", "x"),)), START)
    text = text_of(page)
    for promised in (
        "Job sheet: coat_hook_pause.gcode", "Heron, nozzle 0.4 mm", "PLA, 1.75 mm", "Start 16:30",
        "31 min 34 s (done at 17:02)", "5 min 1 s (at 16:36)",
        "Somebody stands beside it until 16:36, and at every pause",
        "at 16:47): stop, layer 26, line 10605", "Mass 5.18 g", "Cost 0.92 EUR", "Do not print this (1 stop).",
        "Beads &lt;b&gt; &amp; off Line 12, layer 3. Move it.", "checked: Not enough on the spool (spool-short)",
        "Follow the machine&#x27;s manual",
    ):  # fmt: skip
        assert promised in text, promised
    assert not re.search(r"\bsafe\b", text)


def test_without_start_findings_and_checks(hook: Program) -> None:
    text = text_of(job_sheet(hook, None))
    assert "The checks were not run." in text
    assert "for the first 5 min 1 s, and at every pause" in text and "(at" not in text
    assert "Nothing found by the checks" in text_of(job_sheet(hook, Report((), ())))


def test_it_is_one_simple_page(hook: Program) -> None:
    page = job_sheet(hook, Report((FINDING,), ()), START)
    tags = Tags(page)
    assert not tags.open
    assert tags.seen <= SIMPLE_TAGS
    assert "http" not in page.replace('xmlns="http://www.w3.org/2000/svg"', "")
    assert not re.search(r"flex|grid|url\(|@import", page)


def test_a_picture_of_another_kind(hook: Program) -> None:
    page = job_sheet(hook, None, picture='<img src="first.png">')
    assert '<img src="first.png">' in page and "<svg" not in page


def drawn(svg: str, ink: str) -> shapely.Geometry:
    """Return the strokes of one ink as areas in the machine's coordinates (Y up)."""
    pieces = []
    for path in ElementTree.fromstring(svg).iter("{http://www.w3.org/2000/svg}path"):
        if path.get("stroke") == ink:
            for line in path.get("d", "").split("M")[1:]:
                points = [tuple(map(float, pair.split())) for pair in line.split("L")]
                pieces.append(
                    shapely.LineString([(x, -y) for x, y in points]).buffer(
                        float(path.get("stroke-width", 0)) / 2
                    )
                )
    return shapely.union_all(pieces)


@pytest.mark.parametrize("name", ["coat_hook_pause.gcode", "drawer_glides_one_by_one.gcode"])
def test_the_first_layer_is_drawn_to_scale(name: str) -> None:
    program = opened(name)
    svg = first_layer_svg(program)
    part = drawn(svg, PART_INK)
    assert part.area == pytest.approx(program.first_layer.contact_mm2, rel=0.02)  # widths in steps of 0.05 mm
    extent = program.figures.extent
    assert extent is not None
    middle = part.union(drawn(svg, HOLD_INK)).bounds
    for found, low, high in ((middle[0::2], *extent.x), (middle[1::2], *extent.y)):
        assert found[0] == pytest.approx(low, abs=0.5) and found[1] == pytest.approx(high, abs=0.5)


def test_the_plate_is_drawn(hook: Program) -> None:
    root = ElementTree.fromstring(first_layer_svg(hook))
    (plate,) = root.iter("{http://www.w3.org/2000/svg}rect")
    assert [float(plate.get(key, "nan")) for key in ("x", "y", "width", "height")] == [0, -220, 220, 220]
    assert [float(n) for n in root.get("viewBox", "").split()] == [-4, -224, 228, 228]
    round_plate = Plate(shape="circle", diameter_mm=300, left_mm=110, front_mm=110)
    other = with_cards(hook, printer=msgspec.structs.replace(hook.printer, plate=round_plate))
    (circle,) = ElementTree.fromstring(first_layer_svg(other)).iter("{http://www.w3.org/2000/svg}circle")
    assert [float(circle.get(key, "nan")) for key in ("cx", "cy", "r")] == [110, -110, 150]


def test_nothing_to_draw(tmp_path: Path) -> None:
    from viewer import open_program

    file = tmp_path / "none.gcode"
    file.write_text("G28\nG1 X10 F6000\nM84\n")
    program = open_program(file)
    assert first_layer_svg(program) == ""
    assert "There is no first layer to draw." in job_sheet(program, None)


def luminance(ink: str) -> float:
    """Relative luminance, WCAG 2.2."""
    srgb = np.array([int(ink[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_inks_are_seen_on_paper() -> None:
    for ink in (PART_INK, HOLD_INK, PLATE_INK):
        assert 1.05 / (luminance(ink) + 0.05) >= 3.0  # WCAG 2.2, 1.4.11
    assert (luminance(HOLD_INK) + 0.05) / (luminance(PART_INK) + 0.05) >= 2.0


def test_the_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    out = tmp_path / "sheet.html"
    hook = str(SAMPLES / "coat_hook_pause.gcode")
    assert main(["sheet", hook, "-o", str(out), "--start", "16:30"]) == 0
    assert "done at 17:02" in out.read_text()
    assert capsys.readouterr().out == ""
    assert main(["sheet", hook]) == 0
    assert capsys.readouterr().out.startswith("<!DOCTYPE html>")
    assert main(["sheet", str(tmp_path / "gone.gcode"), "-o", str(tmp_path / "b.html")]) == 2
    assert not (tmp_path / "b.html").exists()


def test_changes_of_tool_that_the_printer_lacks_need_somebody() -> None:
    dial = opened("radiator_dial_two_tools.gcode")
    text = re.sub(r"<[^>]+>", " ", job_sheet(dial, None))
    assert "and at every tool change" in text
    assert "16, by hand: the printer has fewer tools than the program" in text
    assert "Filament of tool 1" in text


def test_the_whole_part_stands_above_the_first_layer(hook: Program) -> None:
    page = job_sheet(hook, None, part='<img src="part.png">')
    assert page.index('<img src="part.png">') < page.index("First layer on the plate")


@pytest.mark.skipif(compiler_is_off(), reason="the whole part drawn: needs the compiler")
def test_the_picture_of_the_part_is_a_png_in_the_page(hook: Program, tmp_path: Path) -> None:
    tag = part_image(hook)
    data = base64.b64decode(re.fullmatch(r'<img width="280" .*src="data:image/png;base64,(.+)">', tag)[1])  # type: ignore[index]
    assert f'alt="the part of {hook.path.name}"' in tag
    assert data.startswith(SIGNATURE) and struct.unpack(">II", data[16:24]) == DRAWN_PX
    empty = tmp_path / "empty.gcode"
    empty.write_text("G28\n")
    assert part_image(open_program(empty)) == ""
