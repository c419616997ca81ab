"""The user's printer and material: chosen, changed, remembered; and his own hardware."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QToolButton, QWidget

from splitplanner.errors import WorkshopError
from splitplanner.window.session import Session
from splitplanner.window.settings import Settings
from splitplanner.workshop import (
    Material,
    Printer,
    Shelf,
    generic_materials,
    generic_printers,
    own_materials,
    own_printers,
    own_shelf,
    printing_with,
)

if TYPE_CHECKING:
    from splitplanner.plan import Vector
    from splitplanner.score import LayeredPrint
    from splitplanner.solid import Solid
    from splitplanner.window.dialogs.known_print_dialog import KnownPrints


class WorkshopLink(QObject):
    """Knows the printer and the material at hand, and lets the user choose others."""

    changed = Signal()

    def __init__(self, session: Session, settings: Settings, folder: Path, window: QWidget) -> None:
        super().__init__(window)
        self._session, self._settings, self._folder = session, settings, folder
        self._window = window
        printers = (*own_printers(folder).things, *generic_printers())
        materials = (*own_materials(folder).things, *generic_materials())
        usual = next(each for each in printers if each.bed == Printer().bed)
        self.printer: Printer = next(
            (each for each in printers if each.name == settings.printer), usual
        )
        self.material: Material = next(
            (each for each in materials if each.name == settings.material), materials[0]
        )
        session.printer, session.material = self.printer, self.material
        session.use_spool(settings.spool_left(self.material.name))
        self.buttons = (QToolButton(window), QToolButton(window))
        for button, ask in zip(self.buttons, (self.ask_printer, self.ask_material), strict=True):
            button.setAutoRaise(True)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            button.clicked.connect(ask)
        session.opened.connect(self._show)
        session.changed.connect(self._show)
        self._show()

    def _show(self) -> None:
        """Show the printer and the material of the plan, or those at hand."""
        plan = self._session.plan
        printer = self.printer if plan is None else plan.printer
        if plan is not None and plan.material not in (None, self.material):
            self.material = self._session.material = plan.material
            self._session.use_spool(self._settings.spool_left(self.material.name))
            self.changed.emit()
        for button, kind, name in zip(
            self.buttons,
            ("Printer", "Material"),
            (printer.name, self.material.name),
            strict=True,
        ):
            button.setText(name)
            button.setAccessibleName(f"{kind}: {name}")
            button.setToolTip(f"{kind}: {name}. Press to choose another one.")

    def use_spool(self, left: float | None) -> None:
        """Take note of what is left on the started spool of the material, g, or None."""
        self._settings.set_spool_left(self.material.name, left)
        self._session.use_spool(left)

    def read_shelf(self) -> Shelf:
        """Read the user's own hardware as it is now, have joints made of it, and return the shelf.

        What is wrong with his files is told. Not done at the start, which need not wait for it.
        """
        kept = own_shelf(self._folder)
        self._session.use_shelf(kept.shelf)
        if kept.faults:
            self._session.failed.emit(WorkshopError("\n".join(kept.faults)))
        return kept.shelf

    def ask_printer(self) -> None:
        """Open the dialog of printers."""
        from splitplanner.window.dialogs.printer_dialog import PrinterDialog

        plan = self._session.plan
        at_hand = self.printer if plan is None else plan.printer
        dialog = PrinterDialog(self._folder, at_hand, self._window, self._known_prints())
        dialog.set_quantities(self._window.quantities)  # type: ignore[attr-defined]
        dialog.chosen.connect(self.use_printer)
        dialog.exec()

    def _known_prints(self) -> KnownPrints:
        """Return what may have been printed already, and who works out what that should take."""
        from splitplanner.window.dialogs.known_print_dialog import KnownPiece, KnownPrints

        figures = self._session.figures
        pieces = [
            KnownPiece(f"Piece {row.piece.number} of this plan", row.piece.solid, row.up)
            for row in ([] if figures is None else figures.pieces)
        ]
        return KnownPrints(self.material, pieces, self._work_out)

    def _work_out(
        self,
        what: Path | Solid,
        up: Vector,
        printer: Printer,
        is_held: bool,
        answered: Callable[[LayeredPrint], None],
        failed: Callable[[Exception], None],
    ) -> None:
        self._session.jobs.ask(
            "examiner", "work_out_print", what, up, printing_with(printer, self.material), is_held,
            title="working out a print", answered=answered, failed=failed,
        )  # fmt: skip

    def use_printer(self, printer: Printer) -> None:
        """Plan for a printer, as one step."""
        self.printer = self._session.printer = printer
        self._settings.printer = printer.name
        self._show()
        plan = self._session.plan
        if plan is not None:
            self._session.apply(f"choose printer {printer.name}", replace(plan, printer=printer))
        self.changed.emit()

    def ask_material(self) -> None:
        """Open the dialog of materials."""
        from splitplanner.window.dialogs.material_dialog import MaterialDialog

        dialog = MaterialDialog(self._folder, self.material, self._window)
        dialog.chosen.connect(self.use_material)
        dialog.exec()

    def use_material(self, material: Material) -> None:
        """Plan for a material, as one step; pieces weigh and shrink as of it."""
        self.material = self._session.material = material
        self._settings.material = material.name
        self._session.use_spool(self._settings.spool_left(material.name))
        plan = self._session.plan
        if plan is not None:
            self._session.apply(
                f"choose material {material.name}", replace(plan, material=material)
            )
        self._show()
        self.changed.emit()
