"""The window: the view in the middle, the station chart below it, lists on both sides."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent
from PySide6.QtWidgets import QMainWindow, QSplitter, QTabWidget

from splitplanner.background.live_cut import LiveFigures
from splitplanner.plan import Plan, with_seam_open
from splitplanner.score import CRITERIA
from splitplanner.solid import READABLE, Plane
from splitplanner.window.autosave import Autosave
from splitplanner.window.chart.station_chart import StationChart
from splitplanner.window.commands import Commands
from splitplanner.window.dragging import Dragging
from splitplanner.window.links.assembly_link import AssemblyLink
from splitplanner.window.links.beds_link import BedsLink
from splitplanner.window.links.braces_link import BracesLink
from splitplanner.window.links.cells_link import CellsLink
from splitplanner.window.links.chart_link import ChartLink
from splitplanner.window.links.export_link import ExportLink
from splitplanner.window.links.files_link import FilesLink
from splitplanner.window.links.help_link import HelpLink
from splitplanner.window.links.live_link import LiveLink
from splitplanner.window.links.loads_link import LoadsLink
from splitplanner.window.links.proposals_link import ProposalsLink
from splitplanner.window.links.strength_link import StrengthLink
from splitplanner.window.links.tables_link import TablesLink
from splitplanner.window.links.view_link import ViewLink
from splitplanner.window.links.wishes_link import WishesLink
from splitplanner.window.links.workshop_link import WorkshopLink
from splitplanner.window.lists.assembly_table import AssemblyTable
from splitplanner.window.lists.beds_table import BedsTable
from splitplanner.window.lists.cuts_table import CutsTable
from splitplanner.window.lists.findings_list import FindingsList
from splitplanner.window.lists.parts_table import PartsTable
from splitplanner.window.lists.pieces_table import PiecesTable
from splitplanner.window.lists.proposals_list import ProposalsList
from splitplanner.window.lists.seams_table import SeamsTable
from splitplanner.window.lists.weights_panel import WeightsPanel
from splitplanner.window.look_menu import LookMenu
from splitplanner.window.part_files import PLAN_ENDINGS
from splitplanner.window.parts.button_line import button_line
from splitplanner.window.parts.job_line import JobLine
from splitplanner.window.parts.live_line import LiveLine
from splitplanner.window.parts.narrow_tabs import NarrowTabs
from splitplanner.window.parts.note_line import Mark, NoteLine
from splitplanner.window.parts.recovery_bar import RecoveryBar
from splitplanner.window.parts.stacking import fill, stacked
from splitplanner.window.parts.tool_line import ToolLine
from splitplanner.window.parts.unit_bar import UnitBar
from splitplanner.window.parts.welcome import Welcome
from splitplanner.window.places_kept import PlacesKept
from splitplanner.window.quantities import Quantities
from splitplanner.window.selection import Selection
from splitplanner.window.session import Session
from splitplanner.window.settings import Settings
from splitplanner.window.strength.strength_panel import StrengthPanel
from splitplanner.window.view.part_view import PartView
from splitplanner.window.view.showing import numbers_of
from splitplanner.window.wishing.wishes_panel import WishesPanel

NAME = "Split planner"


class MainWindow(QMainWindow):
    """The program's window.

    Parameters
    ----------
    places : PlacesKept
        Where what is the user's is kept.
    """

    def __init__(self, places: PlacesKept) -> None:
        super().__init__()
        self.settings = Settings(places.settings)
        self.session = Session(self)
        self.session.weights = self.settings.weights(each.name for each in CRITERIA)
        self.selection = Selection(self)
        self.dragging = Dragging(self.session, self)
        self.autosave = Autosave(places.autosave, parent=self)
        self._make_widgets()
        self._make_links(places)
        self.commands = self.help.commands = Commands(self, self._doings())
        self._lay_out()
        self._connect()
        self._restore()
        self.setAcceptDrops(True)
        self._show_title()
        self._enable()

    # -- making it --------------------------------------------------------------------------
    def _make_widgets(self) -> None:
        self.view = PartView()
        self.welcome = Welcome(self.view)
        self.chart = StationChart()
        self.pieces, self.seams = PiecesTable(), SeamsTable()
        self.cuts, self.findings = CutsTable(), FindingsList()
        self.assembly, self.needed, self.beds = AssemblyTable(), PartsTable(), BedsTable()
        self.proposals, self.weights = ProposalsList(), WeightsPanel()
        self.wishes, self.strength = WishesPanel(), StrengthPanel()
        self.unit_bar, self.recovery_bar = UnitBar(), RecoveryBar()
        self.fault_line = NoteLine()
        self.close_fault = self.fault_line.add_button("Close", "It has been read.")
        self.live_line = LiveLine()
        self.job_line = JobLine(self.session.jobs)

    def _make_links(self, places: PlacesKept) -> None:
        session, selection, dragging = self.session, self.selection, self.dragging
        self.view_link = ViewLink(session, selection, dragging, self.view)
        self.chart_link = ChartLink(
            session, selection, dragging, self.chart, self.view_link.colours
        )
        self.loads_link = LoadsLink(session, selection, self.chart, self.view, self.view_link)
        self.tables_link = TablesLink(
            session, selection, self.pieces, self.seams, self.cuts, self.findings
        )
        self.proposals_link = ProposalsLink(session, self.view_link, self.proposals, self.weights)
        self.wishes_link = WishesLink(session, self.view, self.view_link, self.wishes)
        self.files = FilesLink(
            session, self.settings, self.autosave, self.unit_bar, self.recovery_bar, self
        )
        self.export = ExportLink(session, self.settings, self)
        self.workshop = WorkshopLink(session, self.settings, places.workshop, self)
        self.assembly_link = AssemblyLink(session, self.view_link, self.assembly, self.needed)
        self.tables_link.material = lambda: self.workshop.material
        self.beds_link = BedsLink(session, self.beds, lambda: self.workshop.material)
        self.strength_link = StrengthLink(
            session, selection, self.strength, lambda: self.workshop.material
        )
        self.braces_link = BracesLink(session, selection, self.view_link, self.strength.braces)
        self.cells_link = CellsLink(session, selection, self.strength.cells)
        self.live_link = LiveLink(
            session,
            selection,
            self.cells_link,
            self.strength.cells.live,
            self.strength.braces.what_if,
        )
        self.live_link.seams_told.connect(self.seams.tell_strength)
        self.pieces.spool_left_changed.connect(self.workshop.use_spool)
        self.tools = ToolLine(session, self.view_link, selection)
        self.cells_link.overlays_offered.connect(self.tools.offer)
        self.help = HelpLink(self, self.cuts)

    def _doings(self) -> dict[str, Callable[..., object]]:
        """Return what each command does."""
        cut = self.tables_link.act_on_cut

        def on_cut(action: str) -> None:
            cut(action, -1 if self.selection.cut is None else self.selection.cut)

        on_cuts = ("add", "flip", "copy", "mirror", "delete")
        return {
            **{name: partial(on_cut, name) for name in on_cuts},
            "open": self.files.ask_open,
            "example": self.files.open_example,
            "save": self.files.save,
            "save as": self.files.save_as,
            "export": self.export.ask,
            "quit": self.close,
            "undo": self._undo,
            "redo": self._redo,
            "fastening": self._ask_fastening,
            "pins": self._place_pins,
            "ask": self.proposals_link.ask,
            "stop": self.session.proposing.stop,
            "fit view": self.view.fit_all,
            "next area": self._next_area,
            "apart": lambda: self.tools.step_spread(1),
            "together": lambda: self.tools.step_spread(-1),
            "on bed": self.tools.set_on_bed,
            "inch": self._set_inch,
            "printers": self.workshop.ask_printer,
            "materials": self.workshop.ask_material,
            "shortcuts": self.help.show_keys,
            "about": self.help.show_about,
        }

    def _lay_out(self) -> None:
        middle = QSplitter(Qt.Orientation.Vertical)
        middle.addWidget(stacked(self.tools, self.view, self.tools.legend_line, self.live_line))
        middle.addWidget(self.chart)
        middle.setStretchFactor(0, 1)
        middle.setSizes([600, 240])
        self.left, self.right = QTabWidget(), NarrowTabs()
        fill(
            self.left, {"Proposals": self.proposals, "Wishes": self.wishes, "Weights": self.weights}
        )
        fill(
            self.right,
            {
                "Pieces": self.pieces,
                "Seams": self.seams,
                "Cuts": self.cuts,
                "Findings": self.findings,
                "Assembly": self.assembly,
                "To buy": self.needed,
                "Beds": self.beds,
                "Strength": self.strength,
            },
        )
        self.columns = QSplitter(Qt.Orientation.Horizontal)
        for column in (self.left, middle, self.right):
            self.columns.addWidget(column)
        self.columns.setStretchFactor(1, 1)
        self.columns.setSizes([350, 490, 560])
        whole = stacked(self.recovery_bar, self.unit_bar, self.fault_line, self.columns)
        self.setCentralWidget(whole)
        self.statusBar().addPermanentWidget(self.job_line)
        for button in self.workshop.buttons:
            self.statusBar().addPermanentWidget(button)
        self.addToolBar(button_line(self.commands, self))
        file_menu = self.commands.menus["&File"]
        self.recent_menu = file_menu.addMenu("Open &recent")
        file_menu.insertMenu(self.commands["example"], self.recent_menu)
        self.recent_menu.aboutToShow.connect(lambda: self.files.fill_recent(self.recent_menu))
        self.look_menu = LookMenu(self.settings, self)
        self.commands.menus["&View"].addMenu(self.look_menu)
        self.resize(1400, 900)

    def _connect(self) -> None:
        session = self.session
        session.failed.connect(self._fail)
        session.said.connect(lambda text: self.statusBar().showMessage(text, 8000))
        session.opened.connect(self._show_title)
        session.opened.connect(self.welcome.hide)
        # So that the keys of the view are at hand, wherever the file was asked for.
        session.opened.connect(lambda: self.view.setFocus())
        self.welcome.open_asked.connect(self.files.ask_open)
        self.welcome.example_asked.connect(self.files.open_example)
        session.changed.connect(self._enable)
        session.history_changed.connect(self._enable)
        self.selection.cut_changed.connect(self._enable)
        self.weights.weights_settled.connect(self._keep_weights)
        session.checked.connect(self._count_findings)
        self.close_fault.clicked.connect(lambda: self.fault_line.say(Mark.FAULT, ""))
        session.opened.connect(lambda: self.fault_line.say(Mark.FAULT, ""))
        # After that, for its faults stay; and before the plan is examined.
        session.opened.connect(self.workshop.read_shelf)
        self.view_link.colours_changed.connect(self._share_colours)
        self.view_link.direction_picked.connect(self.tables_link.set_up)
        self.tables_link.face_asked.connect(self._ask_face)
        self.chart_link.cut_asked.connect(self._add_cut_at)
        self.chart_link.delete_asked.connect(partial(self.tables_link.act_on_cut, "delete"))
        self.findings.finding_chosen.connect(self.view_link.show_finding)
        self.workshop.changed.connect(self.tables_link.refresh_soon)
        self.workshop.changed.connect(self.beds_link.refresh)
        self.dragging.figured.connect(self._show_live)
        self.dragging.ended.connect(lambda: self.live_line.clear())

    def _restore(self) -> None:
        self.restoreGeometry(self.settings.geometry)
        self.quantities = Quantities(self.settings.unit)
        self.commands["inch"].setChecked(self.quantities.unit == "inch")
        self._share_quantities()

    # -- what is shown ----------------------------------------------------------------------
    def _share_quantities(self) -> None:
        for widget in (
            self.chart,
            self.pieces,
            self.seams,
            self.cuts,
            self.assembly,
            self.needed,
            self.beds,
            self.proposals,
            self.unit_bar,
            self.wishes,
            self.tools,
            self.strength,
            self.strength_link,
            self.braces_link,
            self.live_link,
            self.loads_link,
            self.live_line,
        ):
            widget.set_quantities(self.quantities)

    def _share_colours(self) -> None:
        colours = self.view_link.colours
        self.tables_link.colours = colours
        self.chart_link.set_colours(colours)
        self.beds_link.set_colours(colours)
        self.tables_link.refresh_soon()

    def _show_title(self) -> None:
        session, mark = self.session, "[*]"
        name = session.plan_file.name if session.plan_file is not None else session.title
        self.setWindowTitle(f"{name}{mark} – {NAME}" if name else f"{mark}{NAME}")
        document = session.document
        self.setWindowModified(document is not None and document.is_changed)

    def _enable(self) -> None:
        document, commands = self.session.document, self.commands
        undo, redo = commands["undo"], commands["redo"]
        undo.setEnabled(document is not None and document.can_undo)
        redo.setEnabled(document is not None and document.can_redo)
        undo.setText(f"&Undo {document.undo_label}" if document is not None else "&Undo")
        redo.setText(f"&Redo {document.redo_label}" if document is not None else "&Redo")
        undo.setIconText("Undo")
        redo.setIconText("Redo")
        for name in ("save", "save as", "export", "add", "fastening", "pins", "ask"):
            commands[name].setEnabled(document is not None)
        has_cut = self.selection.cut is not None
        for name in ("flip", "copy", "mirror", "delete"):
            commands[name].setEnabled(document is not None and has_cut)
        self._show_title()

    def _count_findings(self) -> None:
        count = len(self.session.findings)
        self.right.setTabText(3, f"Findings ({count})" if count else "Findings")

    def _show_live(self, live: LiveFigures) -> None:
        self.live_line.tell(live, self.dragging.snap, numbers_of(self.session.division))

    def _fail(self, fault: Exception) -> None:
        self.fault_line.say(Mark.FAULT, str(fault))

    # -- what is done -----------------------------------------------------------------------
    def _undo(self) -> None:
        if self.session.document is not None:
            self.session.document.undo()

    def _redo(self) -> None:
        if self.session.document is not None:
            self.session.document.redo()

    def _ask_fastening(self) -> None:
        shelf = self.workshop.read_shelf()
        self.tables_link.seams_link.fastening_link.ask(self, self.quantities, shelf)

    def _place_pins(self) -> None:
        plan: Plan | None = self.session.plan
        if plan is not None:
            self.session.apply("place all pins anew", with_seam_open(plan))

    def _add_cut_at(self, station: float) -> None:
        axis = self.session.chart_axis
        self.tables_link.add_cut(Plane(axis.direction, round(station, 1)))

    def _ask_face(self, name: str) -> None:
        self.view_link.pick_face(name)
        self.statusBar().showMessage("Click the face that is to lie on the bed; Esc gives it up.")

    def _next_area(self) -> None:
        """Go on to the view, the chart, the lists on the right, or those on the left."""
        areas = (self.view, self.chart, self.right, self.left)
        focus = self.focusWidget() or self
        inside = [at for at, area in enumerate(areas) if area is focus or area.isAncestorOf(focus)]
        area = areas[(inside[0] + 1) % len(areas)] if inside else self.view
        target = area.tabBar() if isinstance(area, QTabWidget) else area
        (self.chart.canvas if area is self.chart else target).setFocus(
            Qt.FocusReason.ShortcutFocusReason
        )

    def _set_inch(self, is_inch: bool) -> None:
        self.quantities = replace(self.quantities, unit="inch" if is_inch else "mm")
        self.settings.unit = self.quantities.unit
        self._share_quantities()

    def _keep_weights(self, weights: Mapping[str, float]) -> None:
        """Begin with these weights from now on."""
        self.session.weights = dict(weights)
        self.settings.set_weights(weights)

    # -- Qt ---------------------------------------------------------------------------------
    def dragEnterEvent(self, event: QDragEnterEvent) -> None:  # noqa: N802
        """Take one file that can be opened."""
        if _dropped(event) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:  # noqa: N802
        """Open what was dropped."""
        path = _dropped(event)
        if path is not None:
            event.acceptProposedAction()
            self.files.open(path)

    def closeEvent(self, event: QCloseEvent) -> None:  # noqa: N802
        """Ask about what is not saved, then give everything back."""
        if not self.files.may_leave():
            event.ignore()
            return
        self.settings.geometry = self.saveGeometry()
        self.settings.sync()
        self.session.close()
        self.autosave.close()
        self.view.release()
        event.accept()


def _dropped(event: QDragEnterEvent | QDropEvent) -> Path | None:
    """Return the file that is dragged, if it is one that can be opened."""
    for url in event.mimeData().urls():
        path = Path(url.toLocalFile())
        if path.suffix.lower() in (*READABLE, *PLAN_ENDINGS):
            return path
    return None
