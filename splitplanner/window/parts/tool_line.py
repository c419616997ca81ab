"""The line above the view: how the pieces are shown, and what is shown on them."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import starmap

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QSlider,
    QVBoxLayout,
    QWidget,
)

from splitplanner.background.overlay import OF_LOADS, OVERLAYS, Overlay
from splitplanner.window.jobs import Job
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.parts.wall_bars import WallBars
from splitplanner.window.parts.wrapping_label import WrappingLabel
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.view.overlay_colours import legend_of

_STEPS = 20
_NOTHING = "nothing"
_PALE = 230
_SPREAD_TIPS = {
    False: "Pull the pieces apart; cuts can be moved when they are together.",
    True: "Pull what is pushed in this step apart from what stands.",
}


class ToolLine(QWidget):
    """A slider that pulls pieces apart, the bed, and figures on faces with their legend."""

    def __init__(
        self,
        session: Session,
        view: ViewLink,
        selection: Selection | None = None,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._session, self._view = session, view
        self._selection = selection or Selection(self)
        self._offered: dict[str, Overlay] = {}
        self._quantities = Quantities()
        self._job: Job | None = None
        self._overlay: Overlay | None = None
        self._was_on_bed = False
        self._make_controls()
        self._make_legend()
        view.step_changed.connect(self._show_step)
        session.checked.connect(self._ask)
        session.changed.connect(self._withdraw)
        self._selection.load_changed.connect(self._ask_of_load)
        session.opened.connect(self._open)
        self._lay_out()

    def _make_controls(self) -> None:
        view = self._view
        self.spread = QSlider(Qt.Orientation.Horizontal)
        self.spread.setRange(0, _STEPS)
        self.spread.setMaximumWidth(160)
        # In a narrow window it would be no more than its knob: the list beside it gives way.
        self.spread.setMinimumWidth(60)
        self.spread.setAccessibleName("How far the pieces are pulled apart")
        self.spread.setToolTip(_SPREAD_TIPS[False])
        self.spread.valueChanged.connect(lambda value: view.set_spread(value / _STEPS))
        self.on_bed = QCheckBox("On the &bed")
        self.on_bed.setToolTip("Show the chosen piece as it lies on the bed.")
        self.on_bed.toggled.connect(view.set_on_bed)
        self.faces = QComboBox()
        self.faces.addItems([_NOTHING, *OVERLAYS])
        self.faces.setMinimumWidth(80)
        self.faces.setAccessibleName("What is shown on the faces")
        self.faces.setToolTip("Show a figure on the faces of the pieces.")
        self.faces.currentTextChanged.connect(lambda _: self._ask())

    def _make_legend(self) -> None:
        """Make what stands below the view: whoever lays this line out puts it there."""
        self.legend = WrappingLabel()
        self.legend.setTextFormat(Qt.TextFormat.RichText)
        self.legend.setAccessibleName("What the colours stand for")
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setAccessibleName("What is shown on the faces, in words")
        self.words.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.bars = WallBars()
        # A label that wraps asks for as much height as it would need when it is narrowest.
        self.words.setFixedHeight(self.bars.sizeHint().height())
        self.legend_line = QWidget()
        self._lay_out_legend()

    def _lay_out_legend(self) -> None:
        beside = QHBoxLayout()
        beside.addWidget(self.words, 1)
        beside.addWidget(self.bars)
        below = QVBoxLayout(self.legend_line)
        below.setContentsMargins(6, 0, 6, 0)
        below.setSpacing(2)
        below.addWidget(self.legend)
        below.addLayout(beside)
        self.legend_line.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.legend_line.hide()

    def _lay_out(self) -> None:
        layout = QHBoxLayout(self)
        layout.setContentsMargins(6, 2, 6, 2)
        apart, shown = QLabel("Apar&t"), QLabel("&Show")
        apart.setBuddy(self.spread)
        shown.setBuddy(self.faces)
        for widget in (apart, self.spread, self.on_bed, shown, self.faces):
            layout.addWidget(widget)
        layout.addStretch()

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self._quantities = quantities
        self._show_legend()

    def step_spread(self, steps: int) -> None:
        """Pull the pieces apart, or push them together, by some steps."""
        self.spread.setValue(self.spread.value() + steps)

    def set_on_bed(self, is_on: bool) -> None:
        """Show the chosen piece on the bed, or the whole part."""
        self.on_bed.setChecked(is_on)

    def offer(self, overlays: Sequence[Overlay]) -> None:
        """Offer figures that were worked out elsewhere, as long as the plan stays; show the first.

        They are named as their overlays are.
        """
        self._withdraw()
        self._offered = {each.name: each for each in overlays}
        self.faces.addItems([*self._offered])
        if overlays:
            self.faces.setCurrentText(overlays[0].name)

    def _withdraw(self) -> None:
        """Offer no figures any more that are of another plan."""
        for name in self._offered:
            self.faces.removeItem(self.faces.findText(name))
        self._offered = {}

    def _ask_of_load(self) -> None:
        if self.faces.currentText() in OF_LOADS:
            # Colours of another load case would be taken for those of this one.
            self._take(None)
            self._ask()

    def _show_step(self, is_step: bool) -> None:
        """Pull apart what moves in a step of the assembly, which is not seen on the bed."""
        before = self.spread.blockSignals(True)
        self.spread.setValue(round(self._view.spread * _STEPS))
        self.spread.blockSignals(before)
        self.spread.setToolTip(_SPREAD_TIPS[is_step])
        if is_step:
            self._was_on_bed = self.on_bed.isChecked()
            self.on_bed.setChecked(False)
        elif self._was_on_bed:
            self.on_bed.setChecked(True)

    def _open(self) -> None:
        self.spread.setValue(0)
        self.on_bed.setChecked(False)
        self.faces.setCurrentIndex(0)

    def _ask(self) -> None:
        """Have the chosen figure worked out for the plan as it is."""
        session, name = self._session, self.faces.currentText()
        session.jobs.stop(self._job, patience=None)
        if name == _NOTHING:
            self._take(None)
        elif name in self._offered:
            self._take(self._offered[name])
        elif session.examined is not None and session.choices is not None:
            self._job = session.jobs.ask(
                "examiner",
                "look_at_faces",
                name,
                session.plan,
                session.choices.wishes,
                self._selection.load or "",
                title=f"working out {name}",
                answered=self._take,
                failed=session.failed.emit,
            )

    def _take(self, overlay: Overlay | None) -> None:
        self._overlay = overlay
        self._view.set_overlay(overlay)
        self._show_legend()

    def _show_legend(self) -> None:
        self.legend_line.setVisible(self._overlay is not None)
        walls = None if self._overlay is None else self._overlay.walls
        self.bars.show_walls(walls, self._quantities)
        if self._overlay is None:
            self.legend.clear()
            return
        legend = legend_of(self._overlay, self._quantities)
        self.legend.setText("&nbsp; ".join(starmap(_entry, legend.entries)))
        self.words.setText(legend.words)
        # Where the window is narrow the last words are cut off.
        self.words.setToolTip(legend.words)
        self.words.setVisible(bool(legend.words))


def _entry(colour: str, text: str) -> str:
    """Return a patch of colour with what it stands for; what is as light as paper has a rim."""
    patch = "□" if QColor(colour).lightness() > _PALE else f"<span style='color:{colour}'>■</span>"
    # Lines are broken between entries alone.
    return f"{patch}&nbsp;{text.replace(' ', '&nbsp;')}"
