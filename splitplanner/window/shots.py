"""Pictures of the window in its main states: ``python -m splitplanner.window.shots DIR``.

Needs no screen. Settings and the like are kept in a temporary folder.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

from PySide6.QtWidgets import QApplication, QWidget

from splitplanner.background.overlay import OF_LOADS, OVERLAYS
from splitplanner.window.look_menu import put_on
from splitplanner.window.main_window import MainWindow
from splitplanner.window.places_kept import PlacesKept
from splitplanner.window.tour import Tour

SIZE = (1400, 900)
_DRAWN = 1500
"""After so long the view has been drawn in full, also where other programs run, ms."""


class Shots:
    """Goes through the window and keeps pictures."""

    def __init__(self, window: MainWindow, folder: Path, suffix: str) -> None:
        self._window, self._folder, self._suffix = window, folder, suffix
        self._tour = Tour(window)

    def take_all(self) -> None:
        """Take a picture of every state."""
        window, tour = self._window, self._tour
        self._keep("empty")
        tour.open_example()
        self._keep("opened")
        self._cut_by_hand()
        tour.propose()
        self._keep("proposals")
        tour.accept()
        self._keep("accepted")
        self._lists()
        self._faces()
        self._loads()
        self._strength()
        window.tools.spread.setValue(12)
        self._keep("apart")
        window.tools.spread.setValue(0)
        self._wishes()
        self._dialogs()

    def _cut_by_hand(self) -> None:
        window, tour = self._window, self._tour
        window.commands["add"].trigger()
        tour.settle()
        plane = window.session.plan.cuts[0].plane  # type: ignore[union-attr]
        window.dragging.begin(0)
        for step in range(12):
            window.dragging.move(plane.shifted(-4.0 * step), 0.5, True)
            tour.rest(20)
        self._keep("dragging")
        window.dragging.drop()
        tour.settle()
        self._keep("cut")

    def _lists(self) -> None:
        window = self._window
        window.selection.choose_piece("1.2.1")
        window.tools.set_on_bed(True)
        self._keep("bed")
        window.tools.set_on_bed(False)
        window.right.setCurrentIndex(1)
        window.selection.choose_seam("S1")
        self._keep("seams")
        window.right.setCurrentIndex(2)
        window.selection.choose_cut(1)
        self._keep("cuts")
        window.right.setCurrentIndex(3)
        self._keep("findings")
        window.right.setCurrentIndex(4)
        self._keep("assembly")
        window.assembly.go_to(2)
        self._keep("step")
        window.assembly.leave()
        window.right.setCurrentIndex(5)
        self._keep("to-buy")
        window.right.setCurrentIndex(6)
        self._tour.settle()
        self._keep("beds")
        window.right.setCurrentIndex(0)

    def _faces(self) -> None:
        window = self._window
        for name in OVERLAYS[: -len(OF_LOADS)]:
            window.tools.faces.setCurrentText(name)
            self._tour.settle()
            self._keep(f"faces-{name.replace(' ', '-')}")
        window.tools.faces.setCurrentIndex(0)

    def _loads(self) -> None:
        from splitplanner.plan import Fastening, with_fastening, with_loading
        from splitplanner.strength import usual_loadings

        window, session = self._window, self._window.session
        plan, part = session.plan, session.part
        assert plan is not None
        assert part is not None
        # Pins alone hold no seam that bending opens.
        plan = with_fastening(plan, Fastening(screws="insert", tape_plies=2))
        for loading in usual_loadings(part):
            plan = with_loading(plan, loading)
        session.apply("hold seams, propose load cases", plan)
        window.selection.choose_load(plan.loadings[0].name)
        self._tour.settle()
        for name in ("moment", "strength"):
            window.chart.set_curve(name)
            self._keep(f"load-{name}")
        for name in OF_LOADS:
            window.tools.faces.setCurrentText(name)
            self._tour.settle()
            self._keep(f"load-faces-{name.replace(' ', '-')}")
        window.tools.faces.setCurrentIndex(0)
        window.chart.set_curve("area")

    def _strength(self) -> None:
        from splitplanner.window.strength.brace_dialog import new_brace
        from splitplanner.window.strength.loaded_part import LoadedPart
        from splitplanner.window.strength.loading_dialog import LoadingDialog

        window, panel, session = self._window, self._window.strength, self._window.session
        window.right.setCurrentIndex(7)
        window.selection.choose_cut(None)
        window.selection.choose_seam("S1")
        window.chart.set_curve("moment")
        window.tools.faces.setCurrentText(OF_LOADS[0])
        self._tour.settle()
        self._keep("strength")
        panel.pages.setCurrentIndex(1)
        panel.braces.propose_asked.emit()
        self._tour.until(lambda: window.braces_link.is_idle)
        self._tour.settle()
        panel.braces.fit_asked.emit(800.0, 300.0, 10.0, 8.0)
        self._tour.settle()
        self._keep("strength-braces")
        panel.pages.setCurrentIndex(0)
        self._keep("strength-braced")
        self._brace_lists()
        panel.pages.setCurrentIndex(2)
        panel.cells.check_asked.emit()
        self._tour.settle()
        self._keep("strength-cells")
        part, plan = session.part, session.plan
        assert part is not None
        assert plan is not None
        loading = LoadingDialog(LoadedPart(part, session.axis, 10.0), plan.loadings[0])
        brace = window.braces_link.dialog_on(new_brace(part, session.axis, "brace 3"))
        for name, dialog in (("load-case", loading), ("brace", brace)):
            assert dialog is not None
            dialog.show()
            self._keep(name, dialog)
            dialog.close()
        panel.pages.setCurrentIndex(0)
        window.right.setCurrentIndex(0)
        window.tools.faces.setCurrentIndex(0)
        window.chart.set_curve("area")

    def _brace_lists(self) -> None:
        window = self._window
        window.right.setCurrentIndex(4)
        window.assembly.go_to(window.assembly.slider.maximum())
        self._keep("brace-step")
        window.assembly.leave()
        window.right.setCurrentIndex(5)
        self._keep("brace-to-buy")
        window.right.setCurrentIndex(7)

    def _wishes(self) -> None:
        window = self._window
        window.left.setCurrentIndex(1)
        window.wishes_link.take_tool("good side faces")
        self._tour.until(lambda: window.session.seen is not None)
        self._keep("painting")
        window.wishes_link.take_tool("")
        window.left.setCurrentIndex(2)
        self._keep("weights")
        window.left.setCurrentIndex(0)

    def _dialogs(self) -> None:
        from splitplanner.window.dialogs.material_dialog import MaterialDialog
        from splitplanner.window.dialogs.printer_dialog import PrinterDialog

        window = self._window
        window.export.ask()
        assert window.export.dialog is not None
        self._keep("export", window.export.dialog)
        window.export.dialog.close()
        for name, dialog in (
            ("printer", PrinterDialog(self._folder, "", window)),
            ("material", MaterialDialog(self._folder, "", window)),
        ):
            dialog.show()
            self._keep(name, dialog)
            dialog.close()

    def _keep(self, name: str, widget: QWidget | None = None) -> None:
        if widget is None:
            self._tour.rest(_DRAWN)
        else:
            self._tour.rest()
        (widget or self._window).grab().save(str(self._folder / f"{name}{self._suffix}.png"))


def main() -> int:
    """Take the pictures."""
    parser = argparse.ArgumentParser(description="Keep pictures of the window in its main states.")
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("--dark", action="store_true", help="in dark colours")
    asked = parser.parse_args()
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    application = QApplication(sys.argv[:1])
    if asked.dark:
        put_on("dark")
    asked.folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as kept:
        window = MainWindow(PlacesKept.inside(Path(kept)))
        window.resize(*SIZE)
        window.show()
        Shots(window, asked.folder, "-dark" if asked.dark else "").take_all()
        if window.session.document is not None:
            window.session.document.mark_saved()
        window.close()
        application.processEvents()
    return 0


if __name__ == "__main__":
    sys.exit(main())
