"""The list of findings: the worst first, filtered by how much they matter, shown in the view."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractListModel,
    QModelIndex,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import (
    QAction,
    QGuiApplication,
    QIcon,
    QKeySequence,
    QPainter,
    QPaintEvent,
    QPixmap,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QHBoxLayout,
    QLabel,
    QListView,
    QStyleOptionViewItem,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from splitplanner.findings import Finding, Severity, counted
from splitplanner.score.lying import Fit
from splitplanner.window.lists.definitions import definition
from splitplanner.window.lists.lines import (
    PADDING,
    RANK,
    SEVERITY_COLOURS,
    SEVERITY_MARKS,
    LinesDelegate,
    draw_badge,
    inks,
)
from splitplanner.window.look import FIT_COLOURS, FIT_MARKS

Index = QModelIndex | QPersistentModelIndex
_GREY = "#999999"
FINDING = Qt.ItemDataRole.UserRole + 2
_WORDS = {Severity.FAULT: "Fault", Severity.WARNING: "Warning", Severity.NOTE: "Note"}
_WRAPPED = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignLeft)
_FILTER_TIPS = {
    Severity.FAULT: "Faults make a plan unsound: it is not exported before they are gone.",
    Severity.WARNING: "Warnings: the job goes on, but you should look.",
    Severity.NOTE: "Notes: worth knowing, such as a repair that was made.",
}


def ranked(findings: Sequence[Finding]) -> list[Finding]:
    """Return findings with the worst first, then those of one kind together and by seam."""
    return sorted(findings, key=_place)


def _place(finding: Finding) -> tuple[int, str, tuple[tuple[int, str], ...]]:
    """Return what a finding is sorted by; seam S2 comes before S10."""
    parts = re.findall(r"\d+|\D+", finding.subject)
    natural = tuple((int(part), "") if part.isdigit() else (0, part) for part in parts)
    return RANK.index(finding.severity), finding.kind, natural


def text_of(finding: Finding) -> str:
    """Return a finding as it is read and copied."""
    return f"{_WORDS[finding.severity]}: {finding.message}"


class FindingsModel(QAbstractListModel):
    """Findings as a list."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.findings: tuple[Finding, ...] = ()

    def show_findings(self, findings: Sequence[Finding]) -> None:
        """Show other findings."""
        self.beginResetModel()
        self.findings = tuple(findings)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008
        """Return how many there are."""
        return 0 if parent.isValid() else len(self.findings)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Return what Qt asks of a finding."""
        if not index.isValid():
            return None
        finding = self.findings[index.row()]
        if role == FINDING:
            return finding
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return text_of(finding)
        if role == Qt.ItemDataRole.ToolTipRole and len(finding.where):
            return f"Marks {counted(len(finding.where), 'place')} in the view."
        return None


class FindingDelegate(LinesDelegate):
    """Draws a mark and a sentence that is as many lines long as it needs."""

    def draw_lines(self, painter: QPainter, opt: Any, index: Index) -> None:
        """Draw the mark, and beside it the sentence."""
        finding = index.data(FINDING)
        ink, _ = inks(opt)
        side = painter.fontMetrics().height()
        box = opt.rect.adjusted(PADDING, PADDING, -PADDING, -PADDING)
        patch = QRectF(box.left(), box.top(), side + 2, side)
        mark, colour = SEVERITY_MARKS[finding.severity], SEVERITY_COLOURS[finding.severity]
        draw_badge(painter, patch, mark, colour)
        painter.setPen(ink)
        painter.drawText(box.adjusted(_lead(side), 0, 0, 0), _WRAPPED, text_of(finding))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:  # noqa: N802
        """Return the room that the sentence takes at the width of the list."""
        view: Any = self.parent()
        metrics, width = view.fontMetrics(), view.viewport().width()
        room = QRect(0, 0, width - 2 * PADDING - _lead(metrics.height()), 10_000)
        text = metrics.boundingRect(room, _WRAPPED, text_of(index.data(FINDING)))
        return QSize(width, max(text.height(), metrics.height()) + 2 * PADDING)


def _lead(side: int) -> int:
    return side + 2 + 7


class _List(QListView):
    """The list itself, which says so when there is nothing in it."""

    empty_text = ""

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802
        """Draw the findings, or in words that there are none."""
        super().paintEvent(event)
        if self.model().rowCount() == 0:
            painter = QPainter(self.viewport())
            painter.setPen(self.palette().placeholderText().color())
            box = self.viewport().rect().adjusted(12, 12, -12, -12)
            flags = Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop
            painter.drawText(box, int(flags) | int(Qt.TextFlag.TextWordWrap), self.empty_text)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802
        """Wrap sentences anew."""
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()


class FindingsList(QWidget):
    """What was found on the plan, and whether it is sound.

    Signals
    -------
    finding_chosen(object)
        The Finding that the user went to, so that its places can be shown.
    """

    finding_chosen = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._all: list[Finding] = []
        self._last: Finding | None = None
        self._quiet = False
        self.model = FindingsModel(self)
        self.list = _List()
        self._set_up_list()
        self._patch, self._headline = QLabel(), QLabel()
        self._headline.setAccessibleName("Soundness")
        self._headline.setToolTip(definition("sound"))
        self._headline.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.filters = {severity: self._filter(severity) for severity in RANK}
        self._lay_out()
        self.clear()

    def _set_up_list(self) -> None:
        self.list.setModel(self.model)
        self.list.setItemDelegate(FindingDelegate(self.list))
        self.list.setAccessibleName("Findings, the worst first")
        self.list.setAccessibleDescription("Enter shows the places of a finding in the view.")
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        self.list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.setAlternatingRowColors(True)
        self.list.selectionModel().currentChanged.connect(self._look)
        self.list.selectionModel().selectionChanged.connect(self._look)
        self.list.activated.connect(self._show_again)
        copy = QAction("Copy as text", self.list)
        copy.setShortcut(QKeySequence.StandardKey.Copy)
        copy.setShortcutContext(Qt.ShortcutContext.WidgetShortcut)
        copy.triggered.connect(self.copy)
        self.list.addAction(copy)
        self.list.setContextMenuPolicy(Qt.ContextMenuPolicy.ActionsContextMenu)

    def _filter(self, severity: Severity) -> QToolButton:
        button = QToolButton()
        button.setCheckable(True)
        button.setChecked(True)
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        button.setToolTip(_FILTER_TIPS[severity])
        button.setAccessibleDescription(_FILTER_TIPS[severity])
        mark, colour = SEVERITY_MARKS[severity], SEVERITY_COLOURS[severity]
        button.setIcon(QIcon(_badge(button, mark, colour)))
        button.toggled.connect(self._show_wanted)
        return button

    def _lay_out(self) -> None:
        head = QHBoxLayout()
        head.addWidget(self._patch)
        head.addWidget(self._headline)
        head.addStretch()
        chosen = QHBoxLayout()
        chosen.setSpacing(4)
        for button in self.filters.values():
            chosen.addWidget(button)
        chosen.addStretch()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(head)
        layout.addLayout(chosen)
        layout.addWidget(self.list)

    def show_findings(self, findings: Sequence[Finding], *, is_checked: bool = True) -> None:
        """Show what was found.

        Parameters
        ----------
        findings : sequence of Finding
        is_checked : bool
            False while the plan is still being looked at: then it is not said to be sound.
        """
        self._all = ranked(findings)
        counts = {rank: sum(each.severity is rank for each in findings) for rank in RANK}
        for severity, button in self.filters.items():
            button.setText(counted(counts[severity], _WORDS[severity].lower()))
            button.setAccessibleName(f"Show {button.text()}")
        self._judge(counts[Severity.FAULT], is_checked)
        self._show_wanted()

    def clear(self) -> None:
        """Show that there is no plan."""
        self.show_findings(())
        self._say("No plan yet", "–", _GREY)

    def _judge(self, faults: int, is_checked: bool) -> None:
        if faults:
            mark, colour = SEVERITY_MARKS[Severity.FAULT], SEVERITY_COLOURS[Severity.FAULT]
            self._say(f"Not sound: {counted(faults, 'fault')}", mark, colour)
        elif not is_checked:
            self._say("Being checked …", "…", _GREY)
        else:
            self._say("Sound", FIT_MARKS[Fit.SQUARE], FIT_COLOURS[Fit.SQUARE])

    def _say(self, text: str, mark: str, colour: str) -> None:
        self._headline.setText(f"<b>{text}</b>")
        self._headline.setAccessibleDescription(text)
        self._patch.setPixmap(_badge(self, mark, colour))

    @property
    def headline(self) -> str:
        """Whether the plan is sound, in words."""
        return self._headline.accessibleDescription()

    def _show_wanted(self, *_: object) -> None:
        """Show what the filter lets through; what was chosen stays so."""
        before, wanted = self._last, self.wanted()
        self._quiet = True
        self.model.show_findings(wanted)
        self.list.empty_text = (
            "Nothing to report."
            if not self._all
            else "All findings are hidden by the buttons above."
        )
        self._last = None
        if before is not None:
            same = [at for at, each in enumerate(wanted) if _same(each, before)]
            if same:
                self.list.setCurrentIndex(self.model.index(same[0]))
        self._quiet = False

    def wanted(self) -> list[Finding]:
        """Return the findings that the filter lets through, the worst first."""
        return [each for each in self._all if self.filters[each.severity].isChecked()]

    @property
    def chosen(self) -> Finding | None:
        """The finding that is chosen."""
        index = self.list.currentIndex()
        if not index.isValid() or not self.list.selectionModel().isSelected(index):
            return None
        return self.model.findings[index.row()]

    def copy(self, *_: object) -> None:
        """Put the selected findings on the clipboard, one a line."""
        rows = sorted(index.row() for index in self.list.selectedIndexes())
        if rows:
            text = "\n".join(text_of(self.model.findings[row]) for row in rows)
            QGuiApplication.clipboard().setText(text)

    def _look(self, *_: object) -> None:
        chosen = self.chosen
        if chosen is self._last:
            return
        self._last = chosen
        if chosen is not None and not self._quiet:
            self.finding_chosen.emit(chosen)

    def _show_again(self, index: QModelIndex) -> None:
        self.finding_chosen.emit(self.model.findings[index.row()])


def _same(one: Finding, other: Finding) -> bool:
    mine, yours = ((f.kind, f.subject, f.message) for f in (one, other))
    return mine == yours


def _badge(widget: QWidget, mark: str, colour: str) -> QPixmap:
    """Return a mark on a patch of its colour, as sharp as the screen."""
    side, ratio = 16, widget.devicePixelRatioF()
    pixmap = QPixmap(round(side * ratio), round(side * ratio))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setFont(widget.font())
    draw_badge(painter, QRectF(0, 0, side, side), mark, colour)
    painter.end()
    return pixmap
