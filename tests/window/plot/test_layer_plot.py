"""The layer plot as a person uses it: look, point, click, measure, zoom, scrub."""

from __future__ import annotations

import math
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from tests.window.conftest import move_to, show_active
from viewer.cards.printer import Plate
from viewer.layers.layers import ROLE_NAMES
from viewer.program import Program, open_program
from viewer.shown.pictures.colours import role_rgba, ui
from viewer.shown.window.model.view_state import COLOURINGS, ViewState
from viewer.shown.window.plot.layer_plot import LayerPlot

SAMPLES = Path(__file__).parents[3] / "sample_programs"
MakePlot = Callable[..., LayerPlot]


@pytest.fixture(scope="module")
def tray() -> Program:
    return open_program(SAMPLES / "tap_washer_tray.gcode")


@pytest.fixture(scope="module")
def ring() -> Program:
    return open_program(SAMPLES / "lamp_shade_ring_spiral.gcode")


@pytest.fixture
def make_plot(qtbot: QtBot) -> Iterator[MakePlot]:
    """Make plots on show and, at the end, see to it that no thread of theirs is left."""
    plots: list[LayerPlot] = []

    def make(state: ViewState, size: tuple[int, int] = (700, 500), dark: bool = False) -> LayerPlot:
        plot = LayerPlot(state)
        plot.setPalette(palette(dark))
        qtbot.addWidget(plot)
        plot.resize(*size)
        show_active(plot, qtbot)
        plots.append(plot)
        settle(qtbot, plot)
        return plot

    yield make
    for plot in plots:
        plot.stop()
    assert [thread.name for thread in threading.enumerate() if thread.name == "layer plot"] == []


def palette(dark: bool) -> QPalette:
    colours = {name: QColor(*rgb) for name, rgb in ui(dark).items()}
    made = QPalette()
    for role, name in (("Window", "window"), ("Base", "panel"), ("Text", "text"), ("WindowText", "text")):
        made.setColor(getattr(QPalette.ColorRole, role), colours[name])
    return made


def settle(qtbot: QtBot, plot: LayerPlot) -> None:
    for _ in range(3):  # the legend may change its height, and with it the size of the plot
        QApplication.processEvents()
        qtbot.waitUntil(lambda: not plot.busy, timeout=60_000)


def place(plot: LayerPlot, x: float, y: float) -> QPoint:
    """Where a point in mm lies in the viewport."""
    return plot.view.mapFromScene(plot.view.box.mapViewToScene(QPointF(x, y)))


def point_at(qtbot: QtBot, plot: LayerPlot, x: float, y: float) -> None:
    at = place(plot, x, y)
    move_to(plot.view.viewport(), at)
    QApplication.processEvents()


def click(qtbot: QtBot, plot: LayerPlot, x: float, y: float) -> None:
    point_at(qtbot, plot, x, y)
    qtbot.mouseClick(plot.view.viewport(), Qt.MouseButton.LeftButton, pos=place(plot, x, y))
    QApplication.processEvents()


def colour_at(plot: LayerPlot, x: float, y: float) -> tuple[int, int, int]:
    shot = plot.view.viewport().grab().toImage()
    ratio = shot.devicePixelRatio()
    at = place(plot, x, y)
    return QColor(shot.pixel(round(at.x() * ratio), round(at.y() * ratio))).getRgb()[:3]  # type: ignore[return-value]


def middle_of(program: Program, move: int) -> tuple[float, float]:
    x0, y0, _ = program.moves.start_xyz(move)
    return 0.5 * (x0 + float(program.moves.x_mm[move])), 0.5 * (y0 + float(program.moves.y_mm[move]))


def long_beads(program: Program, number: int, role: str) -> list[int]:
    own = program.beads_of(number).move
    of_role = own[program.roles[own] == ROLE_NAMES.index(role)]
    return of_role[program.moves.length_mm[of_role] > 5.0].tolist()


@pytest.mark.parametrize("dark", [False, True])
def test_beads_have_the_colour_of_their_role_on_screen(
    qtbot: QtBot, make_plot: MakePlot, tray: Program, dark: bool
) -> None:
    state = ViewState()
    plot = make_plot(state, dark=dark)
    state.show_program(tray)
    state.show_layer(3)
    for part in ("travel", "retracts"):
        state.show_part(part, False)
    for role in ("outline", "solid"):
        bead = long_beads(tray, 3, role)[1]
        x, y = middle_of(tray, bead)
        plot.view.box.setRange(xRange=(x - 4, x + 4), yRange=(y - 3, y + 3))
        settle(qtbot, plot)
        assert colour_at(plot, x, y) == tuple(role_rgba(dark)[ROLE_NAMES.index(role)][:3])
    plot.fit_plate()
    settle(qtbot, plot)
    assert colour_at(plot, 21.3, 33.7) == ui(dark)["plate"]


def test_pointing_names_the_bead_and_clicking_selects_it(
    qtbot: QtBot, make_plot: MakePlot, tray: Program
) -> None:
    """Also in dense infill, where neighbours lie half a millimetre apart."""
    state = ViewState()
    plot = make_plot(state)
    state.show_program(tray)
    state.show_layer(3)
    settle(qtbot, plot)
    for bead in long_beads(tray, 3, "solid")[20:24]:
        x, y = middle_of(tray, bead)
        plot.view.box.setRange(xRange=(x - 8, x + 8), yRange=(y - 6, y + 6))
        settle(qtbot, plot)
        point_at(qtbot, plot, x, y)
        assert state.hovered == bead
        assert f"line {int(tray.moves.line[bead]):,}".replace(",", "\u202f") in plot._line.text()
        click(qtbot, plot, x, y)
        assert state.selected == bead
    plot.fit_plate()
    settle(qtbot, plot)
    click(qtbot, plot, 5.0, 5.0)
    assert state.selected is None
    assert state.hovered is None


def test_selecting_elsewhere_outlines_the_bead_here(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    plot = make_plot(state)
    state.show_program(tray)
    bead = long_beads(tray, 5, "outline")[0]
    state.select(bead)
    settle(qtbot, plot)
    assert state.layer == 5
    assert plot._title.text().startswith("Layer 5 of 45")
    selected = plot.view.marks.selected
    assert selected is not None
    assert selected.width_mm == pytest.approx(
        float(tray.beads_of(5).width_mm[tray.beads_of(5).move == bead][0]), rel=1e-3
    )
    assert plot._line.text().startswith("selected: line ")


def test_fit_zoom_and_what_stays_in_view(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    plot = make_plot(state)
    state.show_program(tray)
    extent = tray.totals.extent
    assert extent is not None
    seen = plot.view.box.viewRect()
    assert seen.left() < extent.x[0] < extent.x[1] < seen.right()
    assert seen.top() < extent.y[0] < extent.y[1] < seen.bottom()
    plot.resize(900, 420)  # what was fitted stays fitted
    settle(qtbot, plot)
    seen = plot.view.box.viewRect()
    assert seen.top() < extent.y[0] < extent.y[1] < seen.bottom()
    aspect = (seen.width() / plot.view.box.width()) / (seen.height() / plot.view.box.height())
    assert aspect == pytest.approx(1.0, rel=1e-3)  # to scale
    middle, width = seen.center(), seen.width()
    plot.zoom(2.0)
    assert plot.view.box.viewRect().width() == pytest.approx(width / 2.0, rel=1e-3)
    assert plot.view.box.viewRect().center().x() == pytest.approx(middle.x(), abs=0.1)
    near = plot.view.box.viewRect()
    state.show_layer(9)  # scrubbing does not move the view
    state.show_program(tray)  # nor does a later state of the same file
    settle(qtbot, plot)
    assert plot.view.box.viewRect() == near
    plot.fit_plate()
    plate = tray.printer.plate
    assert plate.width_mm is not None
    assert plot.view.box.viewRect().right() > plate.left_mm + plate.width_mm


@pytest.mark.parametrize("colouring", COLOURINGS)
def test_every_colouring_has_a_legend_that_fits(
    qtbot: QtBot, make_plot: MakePlot, tray: Program, colouring: str
) -> None:
    state = ViewState()
    plot = make_plot(state, size=(420, 380))
    state.show_program(tray)
    state.colour_by(colouring)  # type: ignore[arg-type]
    settle(qtbot, plot)
    legend = plot.legend
    assert legend.height() == legend.heightForWidth(legend.width())
    assert legend.geometry().bottom() <= plot.height()
    assert legend.geometry().top() >= plot.view.geometry().bottom()  # it covers no bead
    for entry in legend._places(legend.width()):
        assert entry.left + legend.fontMetrics().horizontalAdvance(entry.text) <= legend.width()
    assert legend.accessibleDescription()
    shot = legend.grab().toImage()
    assert len({shot.pixel(x, y) for x in range(0, shot.width(), 3) for y in range(shot.height())}) > 20


def test_legend_wraps_when_narrow(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    plot = make_plot(state, size=(1000, 500))
    state.show_program(tray)
    settle(qtbot, plot)
    wide = plot.legend.height()
    plot.resize(330, 500)
    settle(qtbot, plot)
    assert plot.legend.height() > wide


def test_says_when_less_than_all_is_drawn(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    plot = make_plot(state)
    state.show_program(tray, partial=True)
    settle(qtbot, plot)
    assert "Still reading" in plot._notice.text()
    state.show_program(tray)
    settle(qtbot, plot)
    assert plot._notice.text() == ""
    state.show_moment(0.5 * state.layer_seconds)
    settle(qtbot, plot)
    assert plot._notice.text().startswith("Drawn up to ")
    nozzle = plot.view.marks.nozzle
    assert nozzle is not None
    state.show_part("nozzle", False)
    settle(qtbot, plot)
    assert plot.view.marks.nozzle is None
    state.show_moment(None)
    settle(qtbot, plot)
    assert plot._notice.text() == ""


def test_without_a_program_and_back(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    plot = make_plot(state)
    assert plot._title.text() == "No program is open"
    plot.fit_part()
    plot.fit_plate()
    plot.zoom(1.5)
    state.show_program(tray)
    settle(qtbot, plot)
    state.show_program(None)
    settle(qtbot, plot)
    assert plot._title.text() == "No program is open"
    assert plot.view.picture.view_of_picture is None
    assert plot.view.below.view_of_picture is None
    assert state.hovered is None


@pytest.mark.parametrize(
    "text",
    ["G28\nG1 X10 Y10 F600\nM84\n", "G28\nM83\nG1 Z0.2 F600\nG1 X10 Y10 E0.4 F600\nM84\n"],
    ids=["no bead", "one bead"],
)
def test_programs_of_no_or_one_bead(qtbot: QtBot, make_plot: MakePlot, tmp_path: Path, text: str) -> None:
    path = tmp_path / "few.gcode"
    path.write_text(text)
    state = ViewState()
    plot = make_plot(state)
    state.show_program(open_program(path))
    for colouring in COLOURINGS:
        state.colour_by(colouring)
        settle(qtbot, plot)
    state.show_moment(0.1)
    settle(qtbot, plot)
    click(qtbot, plot, 5.0, 5.0)
    assert state.selected is None if state.layer == 0 else state.selected is not None


def on_plate(program: Program, plate: Plate) -> Program:
    """Return the program on a printer with another plate."""
    printer = msgspec.structs.replace(program.printer, plate=plate)
    return replace(program, cards=replace(program.cards, printer=printer))


def test_unknown_plate(qtbot: QtBot, make_plot: MakePlot, ring: Program) -> None:
    state = ViewState()
    plot = make_plot(state)
    state.show_program(on_plate(ring, Plate()))
    plot.fit_plate()  # falls back to the part
    settle(qtbot, plot)
    extent = ring.totals.extent
    assert extent is not None
    seen = plot.view.box.viewRect()
    assert seen.left() < extent.x[0] < seen.right() < 3.0 * extent.x[1]
    round_plate = Plate(shape="circle", diameter_mm=200.0, left_mm=110.0, front_mm=110.0)
    state.show_program(on_plate(ring, round_plate))
    plot.fit_plate()
    settle(qtbot, plot)
    assert colour_at(plot, 110.0, 10.0) != ui(False)["plate"]  # its rim in front
    assert plot.view.box.viewRect().bottom() > 210.0


def test_follows_light_and_dark(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    plot = make_plot(state)
    state.show_program(tray)
    plot.fit_plate()
    settle(qtbot, plot)
    assert colour_at(plot, 21.3, 33.7) == ui(False)["plate"]
    plot.setPalette(palette(True))
    settle(qtbot, plot)
    assert colour_at(plot, 21.3, 33.7) == ui(True)["plate"]


def test_picture_has_the_pixels_of_the_screen(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    """Every device pixel has its own: at a ratio of 2 the picture is twice as wide as the view."""
    state = ViewState()
    plot = make_plot(state)
    state.show_program(tray)
    settle(qtbot, plot)
    for ratio in (1.0, 2.0):
        request = plot._request(ratio)
        assert request is not None
        assert request.columns == math.ceil(plot.view.box.width() * ratio)
        assert request.view.px_per_mm == pytest.approx(ratio / plot.view.mm_a_px)
        image = plot._drawing.draw(request).image
        assert image.shape == (request.rows, request.columns)
        assert np.count_nonzero(image) > 0.1 * image.size


def test_closing_while_it_draws_leaves_no_thread(qtbot: QtBot, tray: Program) -> None:
    state = ViewState()
    plot = LayerPlot(state)
    plot.resize(700, 500)
    plot.show()
    state.show_program(tray)
    QApplication.processEvents()
    plot.close()
    plot.deleteLater()
    QApplication.sendPostedEvents(None, 52)  # DeferredDelete
    QApplication.processEvents()
    state.show_layer(7)  # nobody listens any more
    qtbot.waitUntil(lambda: all(t.name != "layer plot" for t in threading.enumerate()), timeout=10_000)


def test_a_selection_is_marked_in_its_own_layer_only(
    qtbot: QtBot, make_plot: MakePlot, tray: Program
) -> None:
    state = ViewState()
    state.show_program(tray)
    plot = make_plot(state)
    beads = tray.beads_of(2)
    state.show_layer(2)
    state.select(int(beads.move[5]))
    settle(qtbot, plot)
    assert plot.view.marks.selected is not None
    assert plot._line.text().startswith("selected: line ")
    state.show_layer(4)
    settle(qtbot, plot)
    assert plot.view.marks.selected is None
    assert plot._line.text().startswith("selected in layer 2: line ")


def test_while_measuring_the_line_says_how(qtbot: QtBot, make_plot: MakePlot, tray: Program) -> None:
    state = ViewState()
    state.show_program(tray)
    plot = make_plot(state)
    plot.start_measuring(True)
    assert "Click two points" in plot._line.text()
    plot.start_measuring(False)
    assert "Click two points" not in plot._line.text()
