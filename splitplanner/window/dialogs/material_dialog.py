"""The dialog for choosing a material, and for changing the user's own."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import (
    QDoubleSpinBox,
    QFormLayout,
    QLineEdit,
    QPlainTextEdit,
    QWidget,
)

from splitplanner.window.dialogs.own_dialog import Kind, OwnDialog
from splitplanner.window.quantities import Quantities
from splitplanner.workshop import (
    Material,
    drop_material,
    generic_materials,
    keep_material,
    own_materials,
)

_UNKNOWN = -0.01
"""What the price's box holds where there is no price."""


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
        self._density = QDoubleSpinBox(self)
        self._density.setDecimals(3)
        self._density.setRange(0, 10_000)
        self._density.setSingleStep(0.01)
        self._density.setSuffix(" g/cm³")
        self._density.setKeyboardTracking(False)
        self._price = QDoubleSpinBox(self)
        self._price.setDecimals(2)
        self._price.setRange(_UNKNOWN, 1e6)
        self._price.setSpecialValueText("not known")
        self._price.setSuffix(" a kg")
        self._price.setKeyboardTracking(False)
        self._note = QPlainTextEdit(self)
        self._note.setTabChangesFocus(True)
        rows = (
            ("Nam&e", self._name, "What you call it."),
            ("Densit&y", self._density, "From the maker's data sheet; for the mass of pieces."),
            ("&Price", self._price, "In your money for 1 kg; the lowest step is: not known."),
            ("N&ote", self._note, "Where the values are from, or what you like."),
        )
        form = QFormLayout(self)
        form.setContentsMargins(0, 0, 0, 0)
        for label, widget, tip in rows:
            form.addRow(label, widget)
            widget.setAccessibleName(label.replace("&", ""))
            widget.setToolTip(tip)
            widget.setAccessibleDescription(tip)
        self._name.textChanged.connect(self.edited)
        self._note.textChanged.connect(self.edited)
        self._density.valueChanged.connect(self.edited)
        self._price.valueChanged.connect(self.edited)

    def set_thing(self, material: Material) -> None:
        """Show a material."""
        self._before = material
        self.blockSignals(True)
        self._name.setText(material.name)
        self._density.setValue(material.density)
        self._price.setValue(_UNKNOWN if material.price is None else material.price)
        self._note.setPlainText(material.note)
        self.blockSignals(False)

    def thing(self) -> Material:
        """Return the material that the fields make.

        Raises
        ------
        WorkshopError
            If they make none.
        """
        before = self._before
        price: float | None = max(0.0, self._price.value())
        if self._price.value() == self._price.minimum():
            price = None
        elif before.price is not None and abs(before.price - self._price.value()) <= 0.005:
            price = before.price
        density = self._density.value()
        if abs(density - before.density) <= 0.0005:
            density = before.density
        return replace(
            before,
            name=self._name.text().strip(),
            density=density,
            price=price,
            note=self._note.toPlainText(),
        )

    def set_quantities(self, quantities: Quantities) -> None:
        """Write numbers in another way; densities are in g/cm³ everywhere."""
        for box in (self._density, self._price):
            box.setLocale(quantities.locale)

    def start(self) -> None:
        """Put the keyboard into the name."""
        self._name.setFocus()
        self._name.selectAll()


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
