"""The slider within the layer: up to which second it is drawn, and playing it."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QElapsedTimer, Qt, QTimer, Signal
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import (
    QHBoxLayout,
    QSlider,
    QStyle,
    QStyleOptionSlider,
    QToolButton,
    QWidget,
)

from viewer.shown.window.model.paces import PACES, pace_text
from viewer.shown.window.model.view_state import ViewState
from viewer.shown.window.strip.moment_texts import moment_texts, running_at
from viewer.shown.window.widgets.caption import Caption
from viewer.shown.window.widgets.choice import Choice
from viewer.shown.window.widgets.until_destroyed import listen_until_destroyed

CARRY_S: Final = 0.25
"""From one line of the text to the next while it plays."""
TICK_MS: Final = 16
"""How often playing goes on; it goes on by the time that has really passed."""
_MS = 1000.0
_STEPS = 100
"""Arrow keys go on by the round time next below this part of the layer."""
_ROUND_MS: Final = (10, 100, 1_000, 10_000, 60_000, 600_000)


class PressedSlider(QSlider):
    """A slider that goes where it is pressed, not a page in that direction."""

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Go to the place pressed; from there it can be dragged."""
        if event.button() == Qt.MouseButton.LeftButton:
            option = QStyleOptionSlider()
            self.initStyleOption(option)
            part, control = QStyle.SubControl, QStyle.ComplexControl.CC_Slider
            groove = self.style().subControlRect(control, option, part.SC_SliderGroove, self)
            handle = self.style().subControlRect(control, option, part.SC_SliderHandle, self)
            if not handle.contains(event.position().toPoint()):
                at = round(event.position().x() - groove.x() - handle.width() / 2.0)
                span = groove.width() - handle.width()
                self.setValue(QStyle.sliderValueFromPosition(self.minimum(), self.maximum(), at, span))
        super().mousePressEvent(event)


class MomentSlider(QWidget):
    """Play button, pace, the slider in seconds within the layer, and the moment in text."""

    carried = Signal(int)
    """The line that runs while it plays."""
    rested = Signal(int)
    """Playing or sliding came to rest at a moment: the line that runs then."""

    def __init__(self, state: ViewState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.button = QToolButton(self)
        self.button.setCheckable(True)
        self.button.setText("Play")
        self.button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.button.setToolTip("Watch the layer being laid, and the ones after it")
        self.button.clicked.connect(lambda _on: self.toggle_play())
        self.pace = Choice(self)
        self.pace.setAccessibleName("pace of playing")
        self.pace.setToolTip("How many times as fast as the printer it plays")
        for pace, text in PACES.items():
            self.pace.addItem(text, pace)
        self.pace.activated.connect(lambda _: state.choose_pace(self.chosen_pace))
        self.slider = PressedSlider(Qt.Orientation.Horizontal, self)
        self.slider.setAccessibleName("moment within the layer")
        self.slider.valueChanged.connect(self._moved)
        self.slider.sliderReleased.connect(self._rest)
        self.pace.settled.connect(self.slider.setFocus)
        self.reading = Caption(self)
        self.reading.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        self._uncarried_s = 0.0
        self._elapsed = QElapsedTimer()
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self._go_on)
        self._arrange()
        listen_until_destroyed(self, state, self._show, "program", "layer", "moment", "trial")
        listen_until_destroyed(self, state, self._play_changed, "play")
        self._show()
        self._play_changed()

    def _arrange(self) -> None:
        self.setFocusProxy(self.slider)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(8)
        row.addWidget(self.button)
        row.addWidget(self.pace)
        row.addWidget(self.slider, 3)
        row.addWidget(self.reading, 2)

    @property
    def chosen_pace(self) -> float:
        """How many times as fast as real playing goes."""
        return float(self.pace.currentData())

    @property
    def busy(self) -> bool:
        """Whether it plays."""
        return self._timer.isActive()

    def toggle_play(self) -> None:
        """Play at the chosen pace, or stop."""
        self._state.toggle_play()
        self._play_changed()

    def _carry(self, real_s: float) -> None:
        """Let the text follow while it plays, a few times a second: to explain a line takes longer than a picture."""
        self._uncarried_s += real_s
        state = self._state
        if self._uncarried_s >= CARRY_S and state.timed is not None and state.moment_s is not None:
            self._uncarried_s = 0.0
            self.carried.emit(running_at(state.timed, state.layer, state.moment_s)[0])

    def _rest(self) -> None:
        """Tell the line that runs at the moment on show, if it is one within the layer."""
        state = self._state
        if state.timed is not None and state.layers and state.moment_s is not None:
            self.rested.emit(running_at(state.timed, state.layer, state.moment_s)[0])

    def _play_changed(self) -> None:
        """Start or stop the clock; also when play was asked for elsewhere."""
        playing = self._state.playing
        self.button.setChecked(bool(playing))
        self.button.setText("Halt" if playing else "Play")
        pace = self._state.pace
        known = self.pace.findData(pace)
        if known < 0:
            known = sum(self.pace.itemData(k) < pace for k in range(self.pace.count()))
            self.pace.insertItem(known, pace_text(pace), pace)
        self.pace.setCurrentIndex(known)
        if playing and not self._timer.isActive():
            self._elapsed.start()
            self._timer.start()
        elif not playing:
            if self._timer.isActive():
                self._rest()
            self._timer.stop()

    def _go_on(self) -> None:
        self.advance(self._elapsed.nsecsElapsed() * 1e-9)

    def advance(self, real_s: float) -> None:
        """Go on by the time that has really passed, times the pace; at a layer's end into the next.

        Parameters
        ----------
        real_s
            Seconds on the wall since the last time.
        """
        self._elapsed.start()
        self._carry(real_s)
        state = self._state
        moment = (state.moment_s or 0.0) + real_s * state.playing  # the whole layer: from its beginning
        with state.together():
            while moment >= state.layer_seconds and state.layer < state.layers:
                moment -= state.layer_seconds
                state.show_layer(state.layer + 1)
            if moment < state.layer_seconds:
                state.show_moment(moment)
            else:
                state.show_moment(None)
                state.play(0.0)

    def _moved(self, value: int) -> None:
        """Show the moment that the person slid to; at the end all of the layer."""
        self._state.show_moment(None if value >= self.slider.maximum() else value / _MS)

    def _show(self) -> None:
        """Put slider and text where the state is."""
        state, slider = self._state, self.slider
        whole_ms = round(state.layer_seconds * _MS)
        there = whole_ms > 0
        self.setEnabled(bool(state.layers))
        slider.setEnabled(there)
        blocked = slider.blockSignals(True)
        slider.setMaximum(max(whole_ms, 1))
        slider.setValue(slider.maximum() if state.moment_s is None else round(state.moment_s * _MS))
        slider.blockSignals(blocked)
        fitting = [step for step in _ROUND_MS if step <= whole_ms / _STEPS]
        slider.setSingleStep(fitting[-1] if fitting else 1)
        slider.setPageStep(max(1, whole_ms // 10))
        self.reading.show_texts(moment_texts(state))
