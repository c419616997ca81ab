"""A list of things that have names, as far as all such lists are alike."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from splitplanner.window.lists.tables import Table
from splitplanner.window.quantities import Quantities


class NamedRows(QWidget):
    """Things in a table, which is asked by their names, and what is around it.

    Attributes
    ----------
    table : Table
        The keys of its rows are names.
    """

    table: Table

    def choose(self, name: str | None) -> None:
        """Choose the row of a name, or none, without signalling it."""
        self.table.choose(name)

    @property
    def chosen(self) -> str | None:
        """The name of the chosen row."""
        name: str | None = self.table.chosen_key
        return name

    def set_quantities(self, quantities: Quantities) -> None:
        """Write figures in another way."""
        self.table.set_quantities(quantities)
