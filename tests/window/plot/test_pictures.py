"""Saved pictures: PNG at a finer scale, SVG with true vectors, nothing half-written."""

from __future__ import annotations

import threading
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.window.conftest import show_active
from viewer.errors import OutputError
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program, open_program
from viewer.shown.pictures.colours import role_rgba
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.plot import pictures
from viewer.shown.window.plot.layer_plot import LayerPlot

SAMPLES = Path(__file__).parents[3] / "sample_programs"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def knob() -> Program:
    return open_program(SAMPLES / "radiator_knob_arcs.gcode")


@pytest.fixture
def plot(qtbot: QtBot, knob: Program) -> Iterator[LayerPlot]:
    state = ViewState()
    made = LayerPlot(state)
    qtbot.addWidget(made)
    made.resize(640, 480)
    show_active(made, qtbot)
    state.show_program(knob)
    state.show_layer(4)
    wait(qtbot, made)
    yield made
    made.stop()
    assert all(thread.name != "layer plot" for thread in threading.enumerate())


def wait(qtbot: QtBot, plot: LayerPlot) -> None:
    for _ in range(3):  # the legend may change its height, and with it the size of the plot
        QApplication.processEvents()
        qtbot.waitUntil(lambda: not plot.busy, timeout=60_000)


def test_png_has_twice_the_pixels_and_the_beads(plot: LayerPlot, tmp_path: Path) -> None:
    path = tmp_path / "knob.png"
    plot.save_picture(str(path))
    image = QImage(str(path))
    assert (image.width(), image.height()) == (1280, 960)
    outline = tuple(role_rgba(False)[ROLE_NAMES.index("outline")][:3])
    seen = {image.pixelColor(x, y).getRgb()[:3] for x in range(0, 1280, 2) for y in range(0, 960, 2)}
    assert outline in seen
    assert [entry.name for entry in tmp_path.iterdir()] == ["knob.png"]


def test_the_screen_is_as_before_after_saving(qtbot: QtBot, plot: LayerPlot, tmp_path: Path) -> None:
    before = plot.grab().toImage()
    plot.save_picture(str(tmp_path / "knob.png"))
    wait(qtbot, plot)
    assert plot.grab().toImage() == before


def svg_of(plot: LayerPlot, path: Path) -> ElementTree.Element:
    plot.save_picture(str(path))
    return ElementTree.parse(path).getroot()


def bead_paths(root: ElementTree.Element) -> list[ElementTree.Element]:
    group = next(g for g in root.iter(f"{SVG}g") if g.get("stroke-linecap") == "round")
    return list(group)


def points(path: ElementTree.Element) -> list[tuple[float, float]]:
    numbers = (path.get("d") or "").replace("M", "").split("L")
    return [tuple(float(word) for word in pair.split()) for pair in numbers]  # type: ignore[misc]


def test_svg_draws_every_bead_as_a_line_of_its_width(plot: LayerPlot, knob: Program, tmp_path: Path) -> None:
    from shapely import LineString, union_all

    plot._state.show_part("below", False)
    paths = bead_paths(svg_of(plot, tmp_path / "knob.svg"))
    beads = knob.beads_of(4)
    assert sum(len(points(path)) - 1 for path in paths) == len(beads)
    rows = zip(
        *(c.tolist() for c in (beads.x0_mm, beads.y0_mm, beads.x1_mm, beads.y1_mm, beads.width_mm)),
        strict=True,
    )
    ours = union_all([LineString([(a, b), (c, d)]).buffer(w / 2) for a, b, c, d, w in rows])
    drawn = union_all([LineString(points(p)).buffer(float(p.get("stroke-width") or 0) / 2) for p in paths])
    assert drawn.symmetric_difference(ours).area < 0.003 * ours.area


def test_svg_names_layer_colours_and_scale(plot: LayerPlot, tmp_path: Path) -> None:
    root = svg_of(plot, tmp_path / "knob.svg")
    texts = [text.text or "" for text in root.iter(f"{SVG}text")]
    assert any(" · Layer 4 of" in text and ".gcode" in text for text in texts)
    assert any(text.startswith("outline ") for text in texts)
    assert any(text.endswith(" mm") and text.split()[0].isdigit() for text in texts)  # the scale bar
    outline = "#{:02x}{:02x}{:02x}".format(*role_rgba(False)[ROLE_NAMES.index("outline")][:3])
    assert outline in {path.get("stroke") for path in bead_paths(root)}
    width, height = (float((root.get(name) or "")[:-2]) for name in ("width", "height"))
    box = [float(word) for word in (root.get("viewBox") or "").split()]
    assert box == pytest.approx([0.0, 0.0, width, height])  # its unit is the mm


def test_svg_with_a_colour_bar_and_a_moment(plot: LayerPlot, knob: Program, tmp_path: Path) -> None:
    state = plot._state
    state.colour_by("speed")
    state.show_moment(0.5 * state.layer_seconds)
    root = svg_of(plot, tmp_path / "knob.svg")
    texts = [text.text or "" for text in root.iter(f"{SVG}text")]
    assert "speed reached, mm/s" in texts
    assert any("Drawn up to" in text for text in texts)
    assert len(list(root.iter(f"{SVG}circle"))) == 1  # the nozzle


def test_svg_leaves_out_what_is_not_seen(plot: LayerPlot, knob: Program, tmp_path: Path) -> None:
    whole = len(bead_paths(svg_of(plot, tmp_path / "whole.svg")))
    beads = knob.beads_of(4)
    x, y = float(beads.x0_mm[0]), float(beads.y0_mm[0])
    plot.view.box.setRange(xRange=(x - 1, x + 1), yRange=(y - 1, y + 1))
    assert 0 < len(bead_paths(svg_of(plot, tmp_path / "near.svg"))) < whole


def test_copying(qtbot: QtBot, plot: LayerPlot) -> None:
    plot.copy_picture()
    image = QGuiApplication.clipboard().image()
    assert (image.width(), image.height()) == (1280, 960)


@pytest.mark.parametrize("name", ["knob.png", "knob.svg"])
def test_a_place_that_does_not_exist_is_a_sentence(plot: LayerPlot, tmp_path: Path, name: str) -> None:
    with pytest.raises(
        OutputError, match=r"could not be written: its folder does not exist; make it first\.$"
    ):
        plot.save_picture(str(tmp_path / "gone" / name))


def test_a_failed_write_leaves_the_old_picture(
    plot: LayerPlot, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "knob.png"
    path.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pictures.os, "fsync", full)
    with pytest.raises(OutputError, match="No space left on device"):
        plot.save_picture(str(path))
    assert path.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["knob.png"]


def test_nothing_to_save_as_vectors(qtbot: QtBot, tmp_path: Path) -> None:
    empty = LayerPlot(ViewState())
    qtbot.addWidget(empty)
    empty.resize(400, 300)
    empty.show()
    with pytest.raises(OutputError, match="no program is open"):
        empty.save_picture(str(tmp_path / "none.svg"))
    assert list(tmp_path.iterdir()) == []
    empty.stop()
