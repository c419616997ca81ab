"""All fields of how seams are to be held, and the `Fastening` that they make."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGroupBox,
    QHBoxLayout,
    QLineEdit,
    QSpinBox,
    QVBoxLayout,
    QWidget,
)

from splitplanner.plan import Fastening, Hold
from splitplanner.window.dialogs.fields import (
    choose_in,
    embolden,
    fill_list,
    group_box,
    kept_number,
    list_box,
    number_box,
    tell,
    tick_box,
)
from splitplanner.window.dialogs.held_strength import HeldStrength
from splitplanner.window.dialogs.offered import Offered
from splitplanner.window.parts.length_box import LengthBox
from splitplanner.window.quantities import Quantities

MOST_GAP = 5.0
"""Coat and glue gap are no more than this, mm; as `Fastening` has it."""
USUAL_SIZE = "M3"

SCREWS = (
    ("none", "no screws"),
    ("nut", "nuts"),
    ("insert", "heat-set inserts"),
    ("plastic", "threads formed in the plastic"),
)
FLANGES = (
    ("never", "never"),
    ("where needed", "where the wall lacks room"),
    ("always", "on every seam with a hidden side"),
)
REGISTERS = (
    ("none", "none"),
    ("lap", "lap"),
    ("tongue", "tongue and groove"),
    ("studs", "printed pins"),
    ("wedge", "wedge key"),
)
MARKS = (("none", "none"), ("engraved", "engraved"), ("raised", "raised"))
_ANY_LENGTH = 1000.0
"""What can be typed, mm; what is too much is told and not cut off."""


WORDS = {
    "pins": "dowel pins",
    "press_fit": "how pins are fitted",
    "slots": "slot",
    "screws": "screws",
    "screw_standard": "standard",
    "screw_size": "size",
    "marks": "marks",
    "flange": "flange",
    "bosses": "bosses",
    "register": "register",
    "coat": "coat",
    "glue_gap": "glue gap",
    "tape_plies": "tape",
    "tape_fibre": "fibre",
    "tape_weight": "weight of a ply",
    "tape_fibre_share": "share of the fibre",
    "glue_shear": "lap shear strength of the glue",
    "glue_peel": "glue pulled across",
    "screw_class": "property class",
    "insert_pull_out": "pull-out of inserts",
    "resin_shear": "lap shear strength of the tape's resin",
}
"""What the entries of a `Fastening` are called where they are listed, in the form's order."""


class FasteningForm(QWidget):
    """Shows how seams are to be held and takes changes.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(self, offered: Offered, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._offered = offered
        self._before = Fastening()
        self._quantities = Quantities()
        # The Tab key goes through the fields in the order in which they are made.
        left = [self._make_pins(), self._make_screws(), self._make_marks()]
        middle = [self._make_forms(), self._make_gaps(), self._make_tape()]
        self._strength = HeldStrength()
        columns = QHBoxLayout(self)
        columns.setContentsMargins(0, 0, 0, 0)
        columns.setSpacing(16)
        for groups in (left, middle, [self._strength]):
            column = QVBoxLayout()
            for group in groups:
                column.addWidget(group)
            column.addStretch(1)
            columns.addLayout(column)
        self.set_fastening(self._before)
        self._hear()

    # -- making it ----------------------------------------------------------------------------
    def _make_pins(self) -> QGroupBox:
        self._pins = tick_box("&Dowel pins", "Two or more across each seam, where there is room.")
        self._press_fit = tick_box(
            "Pressed &in",
            "The pins are pressed in: their holes get a groove that lets the air out.",
        )
        self._slots = tick_box(
            "S&lot for one of two",
            "The hole of one of two pins is made longer, so that the two do not fight each other.",
        )
        return group_box("Pins", self._pins, self._press_fit, self._slots)

    def _make_screws(self) -> QGroupBox:
        self._screws = list_box("Screws go into", "What the threads of screws go into.", SCREWS)
        self._standard = list_box("Standard of the screws", "Form of the head, by its standard.")
        self._size = list_box("Size of the thread", "Sizes that are on the hardware shelf.")
        return group_box(
            "Screws",
            ("Screws &go into", self._screws),
            ("Sta&ndard", self._standard),
            ("Si&ze", self._size),
        )

    def _make_marks(self) -> QGroupBox:
        self._marks = list_box(
            "Marks on the seam faces",
            "Numbers of the pieces, and arrows, on the faces of the seams, where nobody sees them.",
            MARKS,
        )
        return group_box("Marks", ("&Marks", self._marks))

    def _make_forms(self) -> QGroupBox:
        self._flange = list_box(
            "Flange",
            "An internal rim along the hidden side of a seam, which takes pins and screws.",
            FLANGES,
        )
        self._bosses = tick_box(
            "&Bosses only", "The flange is only there where pins and screws sit."
        )
        self._register = list_box(
            "Register",
            "A form in the seam itself that keeps the pieces in line, where the wall is thick "
            "enough.",
            REGISTERS,
        )
        return group_box(
            "Flange and register",
            ("&Flange", self._flange),
            self._bosses,
            ("&Register", self._register),
        )

    def _make_gaps(self) -> QGroupBox:
        self._coat, self._glue_gap = (
            LengthBox(name, tip, largest=_ANY_LENGTH, digits=2, step=0.05)
            for name, tip in (
                ("Coat", "Thickness of a coat, such as epoxy, on mating surfaces and in holes."),
                ("Glue gap", "Room for glue that is left between the pieces."),
            )
        )
        return group_box("Gaps", ("C&oat", self._coat), ("Gl&ue gap", self._glue_gap))

    def _make_tape(self) -> QGroupBox:
        self._plies = QSpinBox()
        self._plies.setRange(0, 99)
        self._plies.setSpecialValueText("no tape")
        tell(self._plies, "Plies of tape", "Over each seam on its hidden side; 0 for none.")
        self._fibre = QLineEdit()
        tell(self._fibre, "Fibre of the tape", "Such as glass, carbon or aramid.")
        self._weight = number_box(9999.0, 1, 5.0, " g/m²")
        tell(self._weight, "Weight of a ply", "Of one ply of dry fibre, by its area.")
        self._share = number_box(100.0, 0, 5.0, " %")
        tell(self._share, "Share of the fibre", "Of the weight of the laminate, fibre and resin.")
        return group_box(
            "Tape",
            ("&Plies", self._plies),
            ("Fibr&e", self._fibre),
            ("&Weight", self._weight),
            ("Fibre's s&hare", self._share),
        )

    def _hear(self) -> None:
        for check in (self._pins, self._press_fit, self._slots, self._bosses):
            check.toggled.connect(self._change)
        for combo in (self._flange, self._register, self._marks, self._size):
            combo.currentIndexChanged.connect(self._change)
        self._screws.currentIndexChanged.connect(self._refill)
        self._standard.currentIndexChanged.connect(self._refill)
        for length in (self._coat, self._glue_gap):
            length.edited.connect(self._change)
        for number in (self._plies, self._weight, self._share):
            number.setKeyboardTracking(False)
            number.valueChanged.connect(self._change)
        self._fibre.textChanged.connect(self._change)
        self._strength.edited.connect(self._change)

    # -- what is shown ------------------------------------------------------------------------
    def set_fastening(self, fastening: Fastening) -> None:
        """Show how seams are held."""
        self._before = fastening
        self.blockSignals(True)
        for name, check in self._checks.items():
            check.setChecked(getattr(fastening, name))
        for name, combo in self._combos.items():
            choose_in(combo, getattr(fastening, name))
        self._offer(fastening.screw_standard, fastening.screw_size)
        self._coat.set_mm(fastening.coat)
        self._glue_gap.set_mm(fastening.glue_gap)
        self._plies.setValue(fastening.tape_plies)
        self._fibre.setText(fastening.tape_fibre)
        self._weight.setValue(fastening.tape_weight)
        self._share.setValue(100.0 * fastening.tape_fibre_share)
        self._strength.set_fastening(fastening)
        self._enable()
        self.blockSignals(False)

    @property
    def _checks(self) -> dict[str, QCheckBox]:
        return {
            "pins": self._pins,
            "press_fit": self._press_fit,
            "slots": self._slots,
            "bosses": self._bosses,
        }

    @property
    def _combos(self) -> dict[str, QComboBox]:
        return {
            "screws": self._screws,
            "flange": self._flange,
            "register": self._register,
            "marks": self._marks,
        }

    def _offer(self, standard: str, size: str) -> None:
        """Fill the lists of standards and sizes; what is not on the shelf stays, and is marked."""
        hold, offered = self._hold, self._offered
        standards = offered.standards(hold or "nut") or (standard,)
        fill_list(self._standard, standards, standard)
        sizes = offered.sizes_of(hold, standard) if hold is not None else (size,)
        fill_list(self._size, sizes, size)

    def _refill(self, *_: object) -> None:
        """Offer what there is for another standard, or for what the thread goes into now."""
        hold, standard, size = self._hold, self._standard.currentData(), self._size.currentData()
        if hold is not None:
            sizes = self._offered.sizes_of(hold, standard)
            if size not in sizes:
                size = USUAL_SIZE if USUAL_SIZE in sizes else next(iter(sizes), size)
        self._offer(standard, size)
        self._change()

    @property
    def _hold(self) -> Hold | None:
        """What the threads of screws go into; None without screws."""
        found: Any = self._screws.currentData()
        return None if found == "none" else found

    def _change(self, *_: object) -> None:
        self._enable()
        self.edited.emit()

    def _enable(self) -> None:
        """Leave open only what matters to the rest."""
        has_screws = self._hold is not None
        for widget, matters in (
            (self._press_fit, self._pins.isChecked()),
            (self._slots, self._pins.isChecked()),
            (self._standard, has_screws and self._hold != "plastic"),
            (self._size, has_screws),
            (self._bosses, self._flange.currentData() != "never"),
            (self._fibre, self._plies.value() > 0),
            (self._weight, self._plies.value() > 0),
            (self._share, self._plies.value() > 0),
        ):
            widget.setEnabled(matters)
        self._strength.open_fields(self._hold, self._plies.value() > 0)

    def set_quantities(self, quantities: Quantities) -> None:
        """Show lengths in another unit."""
        self._quantities = quantities
        for length in (self._coat, self._glue_gap):
            length.set_quantities(quantities)

    def embolden(self, entries: Collection[str]) -> None:
        """Write the labels of some entries bold, by their names in `Fastening`; others are not."""
        fields: dict[str, QWidget] = {
            **self._checks,
            **self._combos,
            **self._strength.fields,
            "screw_standard": self._standard,
            "screw_size": self._size,
            "coat": self._coat,
            "glue_gap": self._glue_gap,
            "tape_plies": self._plies,
            "tape_fibre": self._fibre,
            "tape_weight": self._weight,
            "tape_fibre_share": self._share,
        }
        for name, field in fields.items():
            embolden(field, name in entries)

    # -- what it makes ------------------------------------------------------------------------
    def fastening(self) -> Fastening:
        """Return what the fields make.

        Raises
        ------
        ValueError
            If they make none; says why in one sentence.
        """
        self._check_lengths()
        self._check_screws()
        self._check_tape()
        chosen: dict[str, Any] = {
            **{name: check.isChecked() for name, check in self._checks.items()},
            **{name: combo.currentData() for name, combo in self._combos.items()},
        }
        before = self._before
        return Fastening(
            screw_standard=self._standard.currentData(),
            screw_size=self._size.currentData(),
            coat=self._coat.mm,
            glue_gap=self._glue_gap.mm,
            tape_plies=self._plies.value(),
            tape_fibre=self._fibre.text().strip(),
            tape_weight=kept_number(self._weight, before.tape_weight, 1.0),
            tape_fibre_share=kept_number(self._share, before.tape_fibre_share, 100.0),
            **self._strength.entries(),
            **chosen,
        )

    @property
    def remark(self) -> str:
        """What is to be known of what is chosen; empty if nothing is."""
        return " ".join(filter(None, (self._example, self._strength.remark)))

    @property
    def _example(self) -> str:
        hold, size = self._hold, self._size.currentData()
        if hold is None or size not in self._offered.examples.get(hold, ()):
            return ""
        what = "insert" if hold == "insert" else "thread-forming screw"
        return (
            f"The {what} for {size} on the shelf is only an example; before you print, add the one "
            "you have with the figures of its data sheet."
        )

    @property
    def has_resin(self) -> bool:
        """Whether epoxy may be at work: a coat, glue or tape."""
        gaps = self._coat.mm > 0 or self._glue_gap.mm > 0
        return gaps or self._plies.value() > 0 or self._strength.is_glued

    def _check_lengths(self) -> None:
        for box, what in ((self._coat, "coat"), (self._glue_gap, "glue gap")):
            if box.mm > MOST_GAP:
                most, got = (self._quantities.length(mm, 2) for mm in (MOST_GAP, box.mm))
                raise ValueError(f"The {what} must be between 0 and {most}, got {got}.")

    def _check_screws(self) -> None:
        hold = self._hold
        if hold is None:
            return
        standard, size = self._standard.currentData(), self._size.currentData()
        standards = self._offered.standards(hold)
        if standards and standard not in standards:
            raise ValueError(f"There is no screw of {standard} on the shelf; choose another one.")
        if size not in self._offered.sizes_of(hold, standard):
            what = {"nut": "screw and nut", "insert": "screw and insert"}.get(hold, "such screw")
            raise ValueError(f"There is no {what} of size {size} on the shelf; choose another one.")

    def _check_tape(self) -> None:
        if not self._plies.value():
            return
        if not self._fibre.text().strip():
            raise ValueError("Name the fibre of the tape, such as glass.")
        if not 0 < self._share.value() < 100:
            raise ValueError(
                "The fibre's share of the weight is above 0 % and below 100 %, got "
                f"{self._quantities.number(self._share.value())} %."
            )
