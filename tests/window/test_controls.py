"""Every control of the window and its dialogs: named, explained, in order, legible, its own keys.

The sentences of a fault say which control it is.
"""

import string
from functools import partial
from itertools import groupby

import pytest
from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QAccessible, QAction, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QAbstractSlider,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QMenuBar,
    QScrollBar,
    QSizePolicy,
    QTabBar,
    QWidget,
)

from splitplanner.plan import Fastening, Fastenings
from splitplanner.solid import Solid
from splitplanner.strength import usual_loadings
from splitplanner.window.dialogs.about import AboutDialog
from splitplanner.window.dialogs.export_dialog import ExportDialog
from splitplanner.window.dialogs.fastening_dialog import FasteningDialog
from splitplanner.window.dialogs.material_dialog import MaterialDialog
from splitplanner.window.dialogs.offered import offered_hardware
from splitplanner.window.dialogs.printer_dialog import PrinterDialog
from splitplanner.window.dialogs.shortcuts_dialog import ShortcutsDialog
from splitplanner.window.strength.brace_dialog import BraceDialog, new_brace
from splitplanner.window.strength.loaded_part import LoadedPart
from splitplanner.window.strength.loading_dialog import LoadingDialog
from tests.planned import box, save
from tests.window.desk import Desk
from tests.window.hands import ALT

SCREEN = QSize(1280, 800)
X = (1.0, 0.0, 0.0)
BEAM = partial(Solid.box, (430.0, 100.0, 80.0))
NEED_TIPS = (QAbstractSlider, QComboBox, QAbstractSpinBox, QLineEdit)


@pytest.fixture(scope="module")
def desk(qapp, tmp_path_factory):
    """A window with a part, two pieces and proposals, so that all controls are there."""
    place = tmp_path_factory.mktemp("controls")
    made = Desk(place / "kept")
    window = made.window
    window.resize(SCREEN)
    window.activateWindow()
    assert QTest.qWaitForWindowActive(window)
    made.open(save(box((430.0, 100.0, 80.0)), place / "long.stl"))
    window.proposals_link.ask()
    made.until(lambda: not made.session.proposing.is_on)
    window.proposals.accepted.emit(window.proposals.proposals[0])
    made.settle()
    made.idle()
    window.selection.choose_piece("1")
    window.selection.choose_seam("S1")
    window.selection.choose_cut(0)
    window.seams.choose_fastener(0)
    yield made
    made.close()


def states(desk):
    """Yield the window with each of its tabs in front, and what is seen then."""
    left, right = desk.window.left, desk.window.right
    for at in range(max(left.count(), right.count())):
        left.setCurrentIndex(min(at, left.count() - 1))
        right.setCurrentIndex(min(at, right.count() - 1))
        QTest.qWait(20)
        yield left.tabText(left.currentIndex()), right.tabText(right.currentIndex())
    # The last of them has pages of its own.
    pages = desk.window.strength.pages
    for at in range(1, pages.count()):
        pages.setCurrentIndex(at)
        QTest.qWait(20)
        yield "Strength", pages.tabText(at)
    pages.setCurrentIndex(0)


DIALOGS = {
    "export": lambda folder, parent: ExportDialog(parent),
    "printer": lambda folder, parent: PrinterDialog(folder, "", parent),
    "material": lambda folder, parent: MaterialDialog(folder, "", parent),
    "fastening": lambda folder, parent: FasteningDialog(
        Fastenings(Fastening(screws="nut", tape_plies=1)), offered_hardware(), parent
    ),
    "load case": lambda folder, parent: LoadingDialog(
        LoadedPart(BEAM(), X, 5.0), usual_loadings(BEAM())[0], (), parent
    ),
    "brace": lambda folder, parent: BraceDialog(
        BEAM(), new_brace(BEAM(), X, "left"), ["aluminium"], offered_hardware(), (), parent
    ),
    "keys": lambda folder, parent: ShortcutsDialog({}, [("View", "turn", "arrows")], parent),
    "about": lambda folder, parent: AboutDialog(parent=parent),
}


@pytest.fixture(params=DIALOGS)
def dialog(request, qtbot, tmp_path, qapp):
    made = DIALOGS[request.param](tmp_path, None)
    qtbot.addWidget(made)
    made.show()
    QTest.qWaitForWindowExposed(made)
    assert QTest.qWaitForWindowActive(made)
    return made


# -- what is looked at --------------------------------------------------------------------------
def controls(window: QWidget) -> list[QWidget]:
    """Return what is seen in a window and takes keys, without the insides of others."""
    return [each for each in seen(window, QWidget) if takes_keys(each) and not is_inside(each)]


def seen(window: QWidget, kind: type) -> list:
    return [
        each
        for each in window.findChildren(kind)
        if each.isVisibleTo(window)
        and each.window() is window
        and not each.visibleRegion().isEmpty()
    ]


def takes_keys(widget: QWidget) -> bool:
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.isEnabled()


def is_inside(widget: QWidget) -> bool:
    """Return whether a widget is a part of a control, and no control itself."""
    parent = widget.parentWidget()
    return (
        isinstance(parent, QAbstractSpinBox | QComboBox)
        or (isinstance(parent, QAbstractScrollArea) and widget is parent.viewport())
        or isinstance(widget, QScrollBar)
        or widget.focusProxy() is not None
    )


def name_of(widget: QWidget) -> str:
    """Return what a screen reader says."""
    return QAccessible.queryAccessibleInterface(widget).text(QAccessible.Text.Name).strip()


def called(widget: QWidget) -> str:
    text = widget.text() if hasattr(widget, "text") and callable(widget.text) else ""
    return (
        f"{type(widget).__name__} “{name_of(widget) or text}” in {type(widget.parent()).__name__}"
    )


def without_names(window: QWidget) -> list[str]:
    return [called(each) for each in controls(window) if not name_of(each)]


def without_tips(window: QWidget) -> list[str]:
    """Name the controls that neither say in words what they do, nor explain themselves."""
    found = []
    for each in controls(window):
        is_wordless = isinstance(each, QAbstractButton) and not any(
            letter.isalpha() for letter in each.text()
        )
        if (isinstance(each, NEED_TIPS) or is_wordless) and not each.toolTip():
            found.append(called(each))
    return found


def cut_off(window: QWidget) -> list[str]:
    """Name the labels and buttons whose words have no room."""
    found = []
    for each in [*seen(window, QAbstractButton), *seen(window, QLabel)]:
        if isinstance(each, QLabel) and (
            each.wordWrap() or each.sizePolicy().horizontalPolicy() == QSizePolicy.Policy.Ignored
        ):
            continue
        if not each.text():
            continue
        wanted, has = each.sizeHint(), each.size()
        # Part of a widget may be scrolled out of sight, but is still as large as it should be.
        if has.width() < wanted.width() or has.height() < wanted.height() - 1:
            found.append(f"{called(each)}: {has.toTuple()} of {wanted.toTuple()}")
    for bar in seen(window, QTabBar):
        widths = sum(bar.tabRect(at).width() for at in range(bar.count()))
        if widths > bar.width():
            found.append(f"tabs of {called(bar)}: {bar.width()} of {widths}")
    return found


def stops(window: QWidget) -> list[QWidget]:
    """Return where Tab goes, from where the focus is till it comes round."""
    found: list[QWidget] = []
    for _ in range(200):
        now = QApplication.focusWidget()
        if found and now is found[0]:
            return found
        # The view and the chart first go through the cuts in them.
        if now not in found:
            found.append(now)
        QTest.keyClick(now, Qt.Key.Key_Tab)
    raise AssertionError("Tab does not come round")


# -- the window ---------------------------------------------------------------------------------
def test_controls_of_the_window_are_named_explained_and_legible(desk):
    for at in states(desk):
        window = desk.window
        assert window.size() == SCREEN
        assert without_names(window) == [], at
        assert without_tips(window) == [], at
        assert cut_off(window) == [], at


def test_tab_goes_through_one_column_after_the_other(desk):
    window = desk.window
    for at in states(desk):
        window.selection.choose_cut(None)
        window.left.tabBar().setFocus()
        order = [each for each in stops(window) if each is not window.view]
        columns = [window.columns.indexOf(column) for column in map(column_of(window), order)]
        # Not in the columns: the lines above and below them.
        groups = [group for group, _ in groupby(columns) if group >= 0]
        if len(groups) > 1 and groups[0] == groups[-1]:
            groups.pop()
        assert sorted(groups) == sorted(set(groups)), (at, [called(each) for each in order])
        missed = [called(each) for each in controls(window) if each not in order]
        missed = [each for each in missed if "PartView" not in each]
        assert missed == [], at


def column_of(window):
    def column(widget):
        while widget.parentWidget() not in (window.columns, None):
            widget = widget.parentWidget()
        return widget

    return column


def test_every_command_of_the_menus_has_words_and_a_tip(desk):
    for menu in desk.window.commands.menus.values():
        for action in menu.actions():
            if not action.isSeparator():
                assert action.text().strip()
                assert action.menu() is not None or action.statusTip(), action.text()


@pytest.mark.parametrize("context", ["menu bar", "each menu"])
def test_access_keys_of_menus_are_their_own(desk, context):
    bar: QMenuBar = desk.window.menuBar()
    menus = [bar] if context == "menu bar" else desk.window.findChildren(QMenu)
    for menu in menus:
        keys = [QKeySequence.mnemonic(action.text()).toString() for action in menu.actions()]
        keys = [key for key in keys if key]
        assert len(set(keys)) == len(keys), [action.text() for action in menu.actions()]


# -- shortcuts ----------------------------------------------------------------------------------
class Caught(QObject):
    """Catches every shortcut before it does anything, and notes those that Qt cannot tell apart."""

    def __init__(self) -> None:
        super().__init__()
        self.ambiguous: list[str] = []
        self.count = 0

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: N802
        if event.type() == QEvent.Type.Shortcut:
            self.count += 1
            if event.isAmbiguous():
                self.ambiguous.append(event.key().toString())
            return True
        return event.type() in (QEvent.Type.KeyPress, QEvent.Type.KeyRelease)


def all_keys(window: QWidget) -> list[QKeySequence]:
    """Return every key of any action, and Alt with every letter."""
    found = {
        keys.toString() for action in window.findChildren(QAction) for keys in action.shortcuts()
    }
    letters = {f"Alt+{letter}" for letter in string.ascii_uppercase}
    return [QKeySequence(keys) for keys in sorted(found | letters)]


def clashes(window: QWidget) -> list[str]:
    """Press every key in every control, and tell which ones mean two things."""
    found, keys = [], all_keys(window)
    for control in controls(window):
        control.setFocus()
        if QApplication.focusWidget() is not control:
            continue
        caught = Caught()
        QApplication.instance().installEventFilter(caught)
        try:
            for each in keys:
                combination = each[0]
                QTest.keyClick(control, combination.key(), combination.keyboardModifiers())
        finally:
            QApplication.instance().removeEventFilter(caught)
        assert caught.count > 0
        found += [f"{keys} in {called(control)}" for keys in caught.ambiguous]
    return found


def test_no_key_means_two_things_wherever_the_focus_is(desk):
    desk.window.selection.choose_cut(0)
    # Keys of what cannot be done now would clash unseen.
    assert all(desk.window.commands[name].isEnabled() for name in ("flip", "copy", "delete"))
    for at in states(desk):
        found = clashes(desk.window)
        assert found == [], (at, found)


# -- dialogs ------------------------------------------------------------------------------------
def test_controls_of_dialogs_are_named_explained_and_legible(dialog):
    assert dialog.width() <= SCREEN.width()
    assert dialog.height() <= SCREEN.height()
    assert without_names(dialog) == []
    assert without_tips(dialog) == []
    assert cut_off(dialog) == []


def test_tab_comes_to_every_control_of_a_dialog(dialog):
    if QApplication.focusWidget() is None:
        controls(dialog)[0].setFocus()
    order = stops(dialog)
    assert [called(each) for each in controls(dialog) if each not in order] == []


def test_no_key_of_a_dialog_means_two_things(dialog):
    found = {f"Alt+{letter}" for letter in string.ascii_uppercase}
    caught = Caught()
    focus = QApplication.focusWidget() or dialog
    QApplication.instance().installEventFilter(caught)
    try:
        for keys in sorted(found):
            QTest.keyClick(focus, QKeySequence(keys)[0].key(), ALT)
    finally:
        QApplication.instance().removeEventFilter(caught)
    assert caught.ambiguous == []


def test_esc_leaves_a_dialog(dialog):
    assert isinstance(dialog, QDialog)
    QTest.keyClick(QApplication.focusWidget() or dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()


def test_enter_in_a_dialog_does_what_its_default_button_says(dialog):
    buttons = [each for each in dialog.findChildren(QAbstractButton) if hasattr(each, "isDefault")]
    defaults = [each for each in buttons if each.isDefault() and each.isVisibleTo(dialog)]
    # In a search it would close what is searched.
    has_search = any("Search" in each.accessibleName() for each in dialog.findChildren(QLineEdit))
    assert len(defaults) == (0 if has_search else 1), [each.text() for each in buttons]
