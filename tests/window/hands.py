"""Hands of a user: keys that go to what has the keyboard, and a pointer that goes where things are.

Nothing here calls what a control does; it is found out from what is seen on the window.
"""

from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QMenu, QTabBar, QTabWidget, QWidget

Key, Button = Qt.Key, Qt.MouseButton
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
CTRL, ALT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.AltModifier
MOST_STOPS = 60
"""Nothing is further away than so many times the Tab key."""


class Keyboard:
    """Keys go where the system would send them: to an open menu, else to what has the focus."""

    def target(self) -> QWidget:
        popup = QApplication.activePopupWidget()
        if popup is not None:
            return popup.focusWidget() or popup
        # A dialog that was just closed leaves the focus a moment later.
        return QApplication.focusWidget() or QApplication.activeWindow()

    def press(self, key, modifiers=NONE, times=1) -> None:
        for _ in range(times):
            QTest.keyClick(self.target(), key, modifiers)
            QTest.qWait(1)

    def write(self, text: str) -> None:
        QTest.keyClicks(self.target(), text)

    def tab_to(self, wanted: QWidget, *, back: bool = False) -> int:
        """Press Tab till a control has the focus; return how often that was."""
        for count in range(MOST_STOPS):
            if QApplication.focusWidget() is wanted:
                return count
            self.press(Key.Key_Backtab if back else Key.Key_Tab, SHIFT if back else NONE)
        raise AssertionError(f"{wanted.accessibleName()} is not reached by Tab")

    def open_tab(self, tabs: QTabWidget, title: str) -> None:
        """Go to the titles of tabs and on to one of them."""
        bar: QTabBar = tabs.tabBar()
        self.tab_to(bar)
        self.press(Key.Key_Home)
        for _ in range(bar.count()):
            if bar.tabText(bar.currentIndex()).startswith(title):
                return
            self.press(Key.Key_Right)
        raise AssertionError(f"there is no tab {title}")


class Mouse:
    """A pointer that finds things by their places."""

    def click(self, widget: QWidget, at: QPoint | None = None, button=Button.LeftButton) -> None:
        assert widget.isVisible(), f"{widget} is not seen"
        place = widget.rect().center() if at is None else at
        # Whoever is seen there gets the click, as on a screen.
        window = widget.window()
        seen = window.childAt(widget.mapTo(window, place)) or window
        assert seen is widget or widget.isAncestorOf(seen), f"{seen} is in front of {widget}"
        QTest.mouseClick(seen, button, NONE, seen.mapFrom(widget, place))

    def choose(self, window: QWidget, *path: str) -> None:
        """Choose from the menus of a window, by what is written there."""
        bar = window.menuBar()
        self._click_action(bar, path[0])
        for title in path[1:]:
            menu = QApplication.activePopupWidget()
            assert isinstance(menu, QMenu), f"no menu is open for {title}"
            self._click_action(menu, title)

    def _click_action(self, where, title: str) -> None:
        for action in where.actions():
            if action.text().replace("&", "").rstrip("…").startswith(title):
                assert action.isEnabled(), f"{title} cannot be chosen"
                place: QRect = where.actionGeometry(action)
                QTest.mouseMove(where, place.center())
                QTest.mouseClick(where, Button.LeftButton, NONE, place.center())
                return
        raise AssertionError(f"there is no {title}")

    def context(self, widget: QWidget, at: QPoint, title: str) -> None:
        """Choose from the menu of the right button."""
        from PySide6.QtGui import QContextMenuEvent

        event = QContextMenuEvent(QContextMenuEvent.Reason.Mouse, at, widget.mapToGlobal(at))
        QApplication.sendEvent(widget, event)
        menu = QApplication.activePopupWidget()
        assert isinstance(menu, QMenu)
        self._click_action(menu, title)

    def drag(self, widget: QWidget, start: QPoint, end: QPoint, modifiers=NONE) -> None:
        """Press at a place, go to another one in steps, and let go."""
        QTest.mouseMove(widget, start)
        QTest.mousePress(widget, Button.LeftButton, modifiers, start)
        for step in range(1, 9):
            QTest.mouseMove(widget, start + (end - start) * step / 8)
            QTest.qWait(1)
        QTest.mouseRelease(widget, Button.LeftButton, modifiers, end)

    def open_tab(self, tabs: QTabWidget, title: str) -> None:
        bar: QTabBar = tabs.tabBar()
        for at in range(bar.count()):
            if bar.tabText(at).startswith(title):
                self.click(bar, bar.tabRect(at).center())
                return
        raise AssertionError(f"there is no tab {title}")

    def row(self, table, row: int, column: int = 0) -> None:
        """Click a cell of a table."""
        index = table.model().index(row, column)
        table.scrollTo(index)
        self.click(table.viewport(), table.visualRect(index).center())

    def pick(self, box: QComboBox, text: str) -> None:
        """Choose from a list that drops down."""
        self.click(box)
        view = box.view()
        index = box.model().index(box.findText(text), 0)
        QTest.qWait(1)
        QTest.mouseClick(view.viewport(), Button.LeftButton, NONE, view.visualRect(index).center())
