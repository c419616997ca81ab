"""Proposals as cards: streamed in, compared, previewed and accepted."""

import gc
import weakref
from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QLocale, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication, QProgressBar, QPushButton, QToolButton

from splitplanner.score import CRITERIA
from splitplanner.window.lists.bars import BARS
from splitplanner.window.lists.proposals_list import ProposalsList
from splitplanner.window.quantities import Quantities
from tests.window.boxes import proposals

C = QLocale(QLocale.Language.C)


@pytest.fixture
def shown(qtbot):
    made = ProposalsList()
    qtbot.addWidget(made)
    made.set_quantities(Quantities("mm", C))
    made.resize(400, 600)
    for proposal in proposals():
        made.add(proposal)
    made.show()
    made.activateWindow()
    qtbot.waitUntil(lambda: all(card.height() > 80 for card in made._cards))
    return made


def estimated(proposal):
    """Return a proposal as a search shows it first, with estimated figures."""
    figures = replace(proposal.draft.card.figures, exact=False)
    card = replace(proposal.draft.card, figures=figures)
    return replace(proposal, draft=replace(proposal.draft, card=card))


def hover(qtbot, card):
    qtbot.mouseMove(card, QPoint(5, 5))
    qtbot.mouseMove(card, QPoint(8, 8))


def test_what_is_added_is_shown_in_that_order(shown):
    assert shown.proposals == list(proposals())
    first = shown._cards[0]
    assert first.accessibleName() == "Proposal 1: 2 pieces, score 0.624"
    assert "seam seen 140 mm" in first.accessibleDescription()
    assert first.accessibleDescription().startswith(proposals()[0].reason)


def test_bars_are_the_figures_added_up():
    figures = proposals()[0].draft.card.figures
    values = {bar.name: bar.value(figures) for bar in BARS}
    # The criteria of the plan score are the same sums, beside the part.
    measured = {criterion.name: criterion.measure(figures) for criterion in CRITERIA}
    part = figures.part
    assert values["seam seen"] == pytest.approx(measured["seam seen"] * part.size)
    assert values["seam hidden"] == pytest.approx(measured["seam hidden"] * part.size)
    assert values["support"] == pytest.approx(measured["support volume"] * part.volume / 1000)
    assert values["overhang"] == pytest.approx(measured["overhang area"] * part.area / 100)
    assert values["estimated time"] == pytest.approx(measured["print time"])
    assert values["seams lacking room"] == 0.0
    # One cut through a bar of 60 x 40 mm: its outline is 200 mm.
    assert values["seam seen"] + values["seam hidden"] == pytest.approx(200.0)


def test_bars_stand_beside_the_worst_that_is_shown(shown):
    lengths = [card.bars.values["seam seen"] for card in shown._cards]
    shares = [card.bars.share("seam seen") for card in shown._cards]
    assert shares == pytest.approx([length / max(lengths) for length in lengths])
    assert max(shares) == 1.0
    # Nothing hangs over in any of them: no bar, and nothing divided by nothing.
    assert [card.bars.share("overhang") for card in shown._cards] == [0.0] * 3
    shown.set_order([(proposal, 1.0) for proposal in proposals()[:2]])
    assert [card.bars.share("seam seen") for card in shown._cards] == [1.0, 1.0]


def test_a_tip_explains_the_figure_under_the_pointer(shown):
    bars = shown._cards[0].bars
    assert "Overhang: 0.0 cm²" in bars.tip_at(QPointF(3, 3))
    assert "Support: 0.0 cm³" in bars.tip_at(QPointF(bars.width() - 3, 3))
    assert "shorter is better" in bars.tip_at(QPointF(3, 3))


def test_exact_figures_replace_estimated_ones(qtbot):
    shown = ProposalsList()
    qtbot.addWidget(shown)
    rough, exact = estimated(proposals()[0]), proposals()[0]
    picture = QImage(4, 3, QImage.Format.Format_RGB32)
    shown.add(rough, picture)
    assert shown._cards[0].is_estimated
    assert shown._cards[0].accessibleDescription().startswith("Estimated. ")
    shown.add(exact)
    assert shown.proposals == [exact]
    assert not shown._cards[0].is_estimated
    assert shown._cards[0].picture.size() == picture.size()


def test_pictures_arrive_by_number_and_stay_when_the_order_changes(qtbot, shown):
    picture = QImage(100, 75, QImage.Format.Format_RGB32)
    picture.fill(QColor("#AA3377"))
    shown.set_picture(2, picture)
    one, two, three = proposals()
    shown.set_order([(three, 0.1), (two, 0.2)])
    assert shown.proposals == [three, two]
    assert shown._cards[1].accessibleName().endswith("score 0.200")
    qtbot.waitUntil(lambda: shown._cards[1].y() > shown._cards[0].y())
    place = shown._cards[1]._picture.geometry().center()
    assert shown._cards[1].grab().toImage().pixelColor(place) == QColor("#AA3377")
    shown.set_order([(one, 0.1), (two, 0.2), (three, 0.3)])
    assert shown.proposals == [one, two, three]


def test_hovering_previews_and_leaving_ends_it(qtbot, shown):
    first, second = shown._cards[:2]
    with qtbot.waitSignal(shown.previewed) as seen:
        hover(qtbot, first)
    assert seen.args == [proposals()[0]]
    with qtbot.waitSignal(shown.previewed) as seen:
        hover(qtbot, second)
    assert seen.args == [proposals()[1]]
    with qtbot.waitSignal(shown.previewed) as seen:
        QApplication.sendEvent(shown._scroll.viewport(), QEvent(QEvent.Type.Leave))
    assert seen.args == [None]


def test_up_and_down_preview_one_after_another(qtbot, shown):
    seen = []
    shown.previewed.connect(seen.append)
    shown.setFocus()
    for key in (Qt.Key.Key_Down, Qt.Key.Key_Down, Qt.Key.Key_End, Qt.Key.Key_Up, Qt.Key.Key_Home):
        qtbot.keyClick(QApplication.focusWidget() or shown, key)
    one, two, three = proposals()
    assert [each for each in seen if each is not None] == [one, two, three, two, one]
    assert shown._cards[0].hasFocus()


def test_the_preview_ends_when_the_keyboard_goes_elsewhere(qtbot, shown):
    shown._cards[1].setFocus(Qt.FocusReason.TabFocusReason)
    with qtbot.waitSignal(shown.previewed) as seen:
        shown._button.setFocus(Qt.FocusReason.TabFocusReason)
    assert seen.args == [None]


def test_enter_a_double_click_and_the_button_accept(qtbot, shown):
    one, two, three = shown._cards
    with qtbot.waitSignal(shown.accepted) as taken:
        qtbot.keyClick(one, Qt.Key.Key_Return)
    assert taken.args == [proposals()[0]]
    with qtbot.waitSignal(shown.accepted) as taken:
        qtbot.mouseDClick(two, Qt.MouseButton.LeftButton)
    assert taken.args == [proposals()[1]]
    button = three.findChild(QToolButton)
    assert button.accessibleName() == "Accept proposal 3"
    with qtbot.waitSignal(shown.accepted) as taken:
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert taken.args == [proposals()[2]]


def test_a_card_is_copied_in_words(qtbot, shown):
    qtbot.keyClick(shown._cards[2], Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    text = QApplication.clipboard().text()
    assert text.startswith("Proposal 3: 3 pieces, score 0.999. One piece more than the fewest")
    assert text.endswith("seams lacking room 0 of 2, estimated time 14 h 25 min")


def test_one_button_asks_and_stops(qtbot, shown):
    button = shown.findChild(QPushButton)
    bar = shown.findChild(QProgressBar)
    assert button.text() == "&Ask for proposals"
    assert not bar.isVisible()
    with qtbot.waitSignal(shown.asked):
        qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    shown.set_progress(0.25, "growing plans of 2 pieces")
    assert button.text() == "St&op"
    assert bar.isVisible()
    assert bar.value() == bar.maximum() / 4
    assert shown._message.text() == "growing plans of 2 pieces"
    with qtbot.waitSignal(shown.stopped), qtbot.assertNotEmitted(shown.asked):
        qtbot.keyClick(button, Qt.Key.Key_Space)
    shown.set_idle("Stopped; three proposals stay.")
    assert button.text() == "&Ask for proposals"
    assert not bar.isVisible()
    assert shown._message.isVisible()


def test_clearing_ends_the_preview(qtbot, shown):
    shown._cards[0].setFocus(Qt.FocusReason.TabFocusReason)
    with qtbot.waitSignal(shown.previewed) as seen:
        shown.clear()
    assert seen.args == [None]
    assert shown.proposals == []


def test_it_fits_a_narrow_column(shown):
    assert shown._scroll.widget().minimumSizeHint().width() <= 380
    shown.resize(400, 600)
    assert all(card.geometry().right() < 400 for card in shown._cards)


def test_inches_are_read_at_once(shown):
    shown.set_quantities(Quantities("inch", C))
    assert "seam seen 5.5 in" in shown._cards[0].accessibleDescription()


def test_the_list_leaves_nothing_behind(qtbot):
    shown = ProposalsList()
    for proposal in proposals():
        shown.add(proposal)
    shown.show()
    gone = weakref.ref(shown)
    shown.close()
    del shown
    gc.collect()
    assert gone() is None
