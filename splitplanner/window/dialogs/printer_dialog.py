"""The dialog for choosing a printer, and for changing the user's own."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QWidget

from splitplanner.window.dialogs.own_dialog import Kind, OwnDialog
from splitplanner.window.dialogs.printer_form import PrinterForm
from splitplanner.workshop import (
    Insert,
    Printer,
    drop_printer,
    generic_printers,
    keep_printer,
    own_printers,
    own_shelf,
)

if TYPE_CHECKING:
    from splitplanner.window.dialogs.known_print_dialog import KnownPrints


class PrinterDialog(OwnDialog):
    """Chooses a printer; see `OwnDialog`.

    Parameters
    ----------
    folder : Path
        Where the user's own are kept: `workshop.usual_folder`.
    first : Printer or str
        The printer that is chosen at first, or its name.
    known : KnownPrints, optional
        For finding factors by a print that is known; not offered without it.
    """

    def __init__(
        self,
        folder: Path,
        first: Printer | str = "",
        parent: QWidget | None = None,
        known: KnownPrints | None = None,
    ) -> None:
        kind = Kind(
            "printer", "Printers", generic_printers(), Printer(), own_printers, keep_printer,
            drop_printer,
        )  # fmt: skip
        form = PrinterForm(inserts=partial(_inserts_in, folder), known=known)
        super().__init__(kind, form, folder, first, parent)

    @property
    def printer(self) -> Printer:
        """The printer that is chosen."""
        printer: Printer = self.thing
        return printer


def _inserts_in(folder: Path) -> tuple[Insert, ...]:
    """Return the heat-set inserts on the shelf, the user's own first."""
    return own_shelf(folder).shelf.inserts
