"""The dialog for choosing a material, and for changing the user's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QPlainTextEdit,
    QVBoxLayout,
    QWidget,
)

from splitplanner.window.dialogs.number_box import NumberBox, NumberField, boxes_of
from splitplanner.window.dialogs.own_dialog import Kind, OwnDialog
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import (
    Material,
    drop_material,
    generic_materials,
    keep_material,
    own_materials,
)
from splitplanner.workshop.material import LIMITS, MOST_SHRINK

_FIGURES = (
    NumberField("density", "Densit&y", "From the maker's data sheet; for the mass of pieces.",
                " g/cm³", 10_000, 0.01, 3),
    NumberField("price", "&Price", "In your money for 1 kg; the lowest step is: not known.",
                " a kg", 1e6, 1, 2, may_be_unknown=True),
    NumberField("spool_mass", "Full spool", "Filament on a full spool, without the spool.",
                " g", 100_000, 50),
    NumberField("filament_diameter", "Filament", "Diameter of the filament.", " mm", 10, 0.05, 2),
)  # fmt: skip
_STRENGTHS = (
    ("strength_xy", "Strength, along", "Tensile strength along the layers", " MPa", 1),
    ("strength_z", "Strength, across", "Tensile strength across the layers", " MPa", 1),
    ("stiffness_xy", "Stiffness, along", "Modulus of elasticity along the layers", " MPa", 0),
    ("stiffness_z", "Stiffness, across", "Modulus of elasticity across the layers", " MPa", 0),
    ("impact", "Impact", "Notched impact strength along the layers", " kJ/m²", 1),
)
_PRINTING = (
    ("nozzle_temperature", "Nozzle", "Temperature of the nozzle", " °C", 0),
    ("bed_temperature", "Bed", "Temperature of the bed", " °C", 0),
    ("softening_temperature", "Softens at", "Where it gives way under a light load", " °C", 0),
    ("overhang_limit", "Overhang reached", "Steepest overhang that you have printed with it "
     "without support, from vertical; it counts instead of the printer's limit", "°", 0),
)  # fmt: skip
_SHRINK = tuple(
    NumberField(axis, f"Shrink, {axis}",
                f"Percent by which your print came out smaller along {axis} of the printer; 0 all "
                "three where you have not measured it.", " %", MOST_SHRINK, 0.05, 2,
                least=-MOST_SHRINK)
    for axis in "xyz"
)  # fmt: skip
_ANNEALING = tuple(
    NumberField(axis, f"Annealing, {axis}",
                f"Percent by which your print came out of annealing smaller along {axis} of the "
                "printer; 0 all three where you do not anneal.", " %", MOST_SHRINK, 0.05, 2,
                least=-MOST_SHRINK)
    for axis in "xyz"
)  # fmt: skip
_SCALED = (
    "Make pieces in files larger by what they shrink, in printing and annealing, so that they come "
    "out at size. Not where your slicer does it."
)


def _unsure(rows: Sequence[tuple[str, str, str, str, int]]) -> tuple[NumberField, ...]:
    """Return fields of figures that may be unknown, as wide as a material's limits."""
    limits = {limit.field: limit for limit in LIMITS}
    return tuple(
        NumberField(
            name, label, f"{tip}; the lowest step is: not known.", suffix, limits[name].most,
            10.0 if digits == 0 else 1.0, digits, least=limits[name].least, may_be_unknown=True,
        )
        for name, label, tip, suffix, digits in rows
    )  # fmt: skip


class MaterialForm(QWidget):
    """Shows a material and takes changes.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._before = Material("material", 1.2)
        self._name = QLineEdit(self)
        columns = (_FIGURES, _unsure(_STRENGTHS), _unsure(_PRINTING))
        self._boxes = boxes_of([field for fields in columns for field in fields], self)
        self._shrink = boxes_of(_SHRINK, self)
        self._annealing = boxes_of(_ANNEALING, self)
        self._scaled = QCheckBox("Sca&le files", self)
        self._scaled.setAccessibleName("Scale files")
        self._scaled.setToolTip(_SCALED)
        self._scaled.setAccessibleDescription(_SCALED)
        # Last, since Tab goes by the order in which they are made.
        self._note = QPlainTextEdit(self)
        self._note.setTabChangesFocus(True)
        self._lay_out(columns)
        self._name.textChanged.connect(self.edited)
        self._note.textChanged.connect(self.edited)
        for box in self._all_boxes():
            box.valueChanged.connect(self.edited)
        self._scaled.toggled.connect(self.edited)

    def _all_boxes(self) -> tuple[NumberBox, ...]:
        groups = (self._boxes, self._shrink, self._annealing)
        return tuple(box for group in groups for box in group.values())

    def _lay_out(self, columns: Sequence[Sequence[NumberField]]) -> None:
        texts = (
            ("Nam&e", self._name, "What you call it."),
            ("N&ote", self._note, "Where the values are from, or what you like."),
        )
        for label, widget, tip in texts:
            widget.setAccessibleName(label.replace("&", ""))
            widget.setToolTip(tip)
            widget.setAccessibleDescription(tip)
        name, numbers, note = QFormLayout(), QHBoxLayout(), QFormLayout()
        name.addRow(texts[0][0], self._name)
        note.addRow(texts[1][0], self._note)
        for fields in columns:
            form = QFormLayout()
            for field in fields:
                form.addRow(field.label, self._boxes[field.name])
            numbers.addLayout(form)
            numbers.addSpacing(24)
        shrink = QFormLayout()
        for box in (*self._shrink.values(), *self._annealing.values()):
            shrink.addRow(box.field.label, box)
        shrink.addRow(self._scaled)
        numbers.addLayout(shrink)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addLayout(name)
        whole.addLayout(numbers)
        whole.addLayout(note)

    def set_thing(self, material: Material) -> None:
        """Show a material."""
        self._before = material
        self.blockSignals(True)
        self._name.setText(material.name)
        self._note.setPlainText(material.note)
        for name, box in self._boxes.items():
            box.set_number(getattr(material, name))
        for boxes, percents in (
            (self._shrink, material.shrink),
            (self._annealing, material.annealing),
        ):
            for box, percent in zip(boxes.values(), percents or (0.0, 0.0, 0.0), strict=True):
                box.set_number(percent)
        self._scaled.setChecked(material.scaled)
        self.blockSignals(False)

    def thing(self) -> Material:
        """Return the material that the fields make.

        Raises
        ------
        WorkshopError
            If they make none.
        """
        figures: dict[str, Any] = {name: box.number for name, box in self._boxes.items()}
        return replace(
            self._before,
            name=self._name.text().strip(),
            note=self._note.toPlainText(),
            shrink=_percents(self._shrink, self._before.shrink),
            annealing=_percents(self._annealing, self._before.annealing),
            scaled=self._scaled.isChecked(),
            **figures,
        )

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way; these units are the same everywhere."""
        for box in self._all_boxes():
            box.setLocale(quantities.locale)

    def start(self) -> None:
        """Put the keyboard into the name."""
        self._name.setFocus()
        self._name.selectAll()


def _percents(boxes: Mapping[str, NumberBox], before: tuple[float, ...]) -> tuple[float, ...]:
    """Return what is in the boxes of three axes, or nothing where none was measured."""
    found = tuple(box.number or 0.0 for box in boxes.values())
    if any(found):
        return found
    # All nothing is what was not measured, unless it came so.
    return before if not any(before) else ()


class MaterialDialog(OwnDialog):
    """Chooses a material; see `OwnDialog`.

    Parameters
    ----------
    folder : Path
        Where the user's own are kept: `workshop.usual_folder`.
    first : Material or str
        The material that is chosen at first, or its name.
    """

    def __init__(
        self, folder: Path, first: Material | str = "", parent: QWidget | None = None
    ) -> None:
        built_in = generic_materials()
        kind = Kind(
            "material", "Materials", built_in, Material("material", 1.2), own_materials,
            keep_material, drop_material,
        )  # fmt: skip
        super().__init__(kind, MaterialForm(), folder, first, parent)

    @property
    def material(self) -> Material:
        """The material that is chosen."""
        material: Material = self.thing
        return material
