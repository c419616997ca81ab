"""Weights as sliders, and proposals ranked anew by them."""

import gc
import weakref
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QDoubleSpinBox

from splitplanner.score import CRITERIA, Criterion, scorecard
from splitplanner.suggest.ranking import (
    is_measured,
    measured,
    remember,
    reranked,
    rescored,
    unmeasured,
)
from splitplanner.window.lists.weight_row import MOST_STEPS, steps_at, weight_at
from splitplanner.window.lists.weights_panel import WeightsPanel
from tests.window.boxes import proposals

COUNTED = [criterion for criterion in CRITERIA if criterion.weight]
OTHERS = [criterion for criterion in CRITERIA if not criterion.weight]
BY_NUMBERS = [criterion.name for criterion in CRITERIA if criterion.estimate is not None]


# ----- ranking


@pytest.mark.parametrize(
    "weights",
    [
        {},
        {"seam seen": 0.0, "pieces": 1.5},
        {"print time": 2.0, "uneven pieces": 0.5},
        dict.fromkeys((criterion.name for criterion in COUNTED), 0.0),
    ],
)
def test_scores_are_those_of_the_scorecard(weights):
    ranked = reranked(proposals(), weights)
    assert len(ranked) == len(proposals())
    for proposal, score in ranked:
        assert score == scorecard(proposal.draft.card.figures, weights).total
    assert [score for _, score in ranked] == sorted(score for _, score in ranked)


@given(st.dictionaries(st.sampled_from(BY_NUMBERS), st.floats(0, 40)))
def test_so_they_are_whatever_the_weights(weights):
    for proposal, score in reranked(proposals(), weights):
        assert score == pytest.approx(scorecard(proposal.draft.card.figures, weights).total)


def test_equal_scores_keep_the_order_of_numbers():
    nothing = dict.fromkeys((criterion.name for criterion in CRITERIA), 0.0)
    ranked = reranked(proposals()[::-1], nothing)
    assert [proposal.number for proposal, _ in ranked] == [1, 2, 3]


def test_weights_change_the_order():
    # Of the second proposal the prints take longest, the third is the one with more pieces.
    only = {criterion.name: 0.0 for criterion in COUNTED}
    by_pieces = reranked(proposals(), {**only, "pieces": 1.0})
    assert [proposal.number for proposal, _ in by_pieces] == [1, 2, 3]
    by_time = reranked(proposals(), {**only, "print time": 1.0})
    hours = {p.number: dict(_values(p))["print time"] for p in proposals()}
    assert [p.number for p, _ in by_time] == sorted(hours, key=hours.__getitem__)


def _values(proposal):
    return [
        (term.criterion.name, term.criterion.measure(proposal.draft.card.figures))
        for term in proposal.draft.card.terms
        if term.criterion.estimate is not None
    ]


def test_no_criterion_of_that_name_is_said():
    with pytest.raises(ValueError, match="no criterion called colour"):
        reranked(proposals(), {"colour": 1.0})


def counted_card(calls):
    """Return a scorecard of one criterion that notes when it is measured."""

    def measure(figures):
        calls.append(figures)
        return 3.0

    criterion = Criterion("pieces", "pieces", 2.0, 0.0, measure)
    return scorecard(proposals()[0].draft.card.figures, criteria=(criterion,))


def test_a_value_is_measured_once_however_often_weights_change():
    calls = []
    card = counted_card(calls)
    assert [rescored(card, {"pieces": weight}) for weight in (0.0, 1.0, 2.0, 4.0)] == [
        0.0, 1.5, 3.0, 6.0,
    ]  # fmt: skip
    assert len(calls) == 1


def test_values_are_measured_elsewhere_by_name():
    proposal = proposals()[0]
    figures = proposal.draft.card.figures
    found = measured(proposal.draft.card, ["print time", "pieces"])
    assert found == {
        criterion.name: criterion.measure(figures)
        for criterion in CRITERIA
        if criterion.name in ("print time", "pieces")
    }


def test_what_has_to_be_measured_first_is_known_and_can_be_handed_in():
    calls = []
    card = counted_card(calls)
    proposal = proposals()[0]
    other = replace(proposal, draft=replace(proposal.draft, card=card))
    assert unmeasured([other], {}) == set()
    assert unmeasured([other], {"pieces": 1.0}) == {"pieces"}
    remember(card, {"pieces": 5.0, "something else": 1.0})
    assert unmeasured([other], {"pieces": 1.0}) == set()
    assert is_measured(card.terms[0])
    assert rescored(card, {"pieces": 2.0}) == 5.0
    assert calls == []


# ----- sliders


@pytest.mark.parametrize("criterion", CRITERIA, ids=lambda each: each.name)
def test_a_slider_goes_from_nothing_to_four_times_the_default(criterion):
    assert weight_at(0, criterion) == 0.0
    assert weight_at(MOST_STEPS, criterion) == pytest.approx(4 * (criterion.weight or 0.25))
    assert weight_at(steps_at(criterion.weight, criterion), criterion) == criterion.weight
    assert steps_at(1e6, criterion) == MOST_STEPS


@pytest.fixture
def panel(qtbot):
    made = WeightsPanel()
    qtbot.addWidget(made)
    made.resize(400, 500)
    made.show()
    made.activateWindow()
    return made


def heard(panel):
    """Return what the panel tells while weights change and when they settle."""
    changed, settled = [], []
    panel.weights_changed.connect(changed.append)
    panel.weights_settled.connect(settled.append)
    return changed, settled


def test_every_criterion_has_its_row_and_explains_itself(panel):
    assert list(panel.rows) == [criterion.name for criterion in CRITERIA]
    for name, row in panel.rows.items():
        assert row.slider.accessibleName() == f"Weight of {name}"
        assert "Default" in row.slider.toolTip()


def test_what_does_not_count_by_default_is_folded_away(qtbot, panel):
    assert all(panel.rows[each.name].isVisible() for each in COUNTED)
    assert not any(panel.rows[each.name].isVisible() for each in OTHERS)
    assert panel.fold.text() == f"{len(OTHERS)} more criteria, none of them counts"
    qtbot.mouseClick(panel.fold, Qt.MouseButton.LeftButton)
    assert all(panel.rows[each.name].isVisible() for each in OTHERS)
    panel.set_weights({"print time": 0.5})
    assert panel.fold.text() == f"{len(OTHERS)} more criteria, 1 of them counts"


def test_a_key_on_a_slider_changes_the_weight_at_once(qtbot, panel):
    slider = panel.rows["seam seen"].slider
    slider.setFocus()
    changed, settled = heard(panel)
    qtbot.keyClick(slider, Qt.Key.Key_End)
    weights = {"seam seen": 1.2}
    assert (changed, settled) == ([weights], [weights])
    assert panel.weights == weights
    assert panel.rows["seam seen"].number.value() == 1.2


def test_dragging_tells_all_the_way_and_settles_once(qtbot, panel):
    slider = panel.rows["seam seen"].slider
    changed, settled = heard(panel)
    y = slider.height() // 2
    start = round(slider.place_of(100))
    qtbot.mousePress(slider, Qt.MouseButton.LeftButton, pos=QPoint(start, y))
    for step in (15, 20, 25):
        qtbot.mouseMove(slider, QPoint(start + step, y))
    assert len(changed) >= 2
    assert settled == []
    qtbot.mouseRelease(slider, Qt.MouseButton.LeftButton, pos=QPoint(start + 25, y))
    assert len(settled) == 1
    assert settled[0] == changed[-1] == panel.weights
    assert panel.weights["seam seen"] > 0.3


def test_a_dragged_slider_snaps_to_the_default(qtbot, panel):
    panel.set_weights({"seam seen": 1.0})
    slider = panel.rows["seam seen"].slider
    y, start = slider.height() // 2, round(slider.place_of(slider.value()))
    qtbot.mousePress(slider, Qt.MouseButton.LeftButton, pos=QPoint(start, y))
    for x in (start - 5, round(slider.place_of(102))):
        qtbot.mouseMove(slider, QPoint(x, y))
    qtbot.mouseRelease(slider, Qt.MouseButton.LeftButton, pos=QPoint(x, y))
    assert panel.weights == {}


def test_a_number_may_be_beyond_the_slider(qtbot, panel):
    row = panel.rows["tight fit"]
    row.number.setFocus()
    row.number.selectAll()
    with qtbot.waitSignal(panel.weights_settled) as settled:
        qtbot.keyClicks(row.number, row.number.locale().toString(7.5))
        qtbot.keyClick(row.number, Qt.Key.Key_Return)
    assert settled.args == [{"tight fit": 7.5}]
    assert row.slider.value() == MOST_STEPS
    assert row.weight == 7.5


def test_one_weight_and_all_go_back_to_their_defaults(qtbot, panel):
    panel.set_weights({"seam seen": 1.0, "pieces": 0.0})
    assert not panel.rows["tight fit"].back.isVisible()
    with qtbot.waitSignal(panel.weights_changed) as changed:
        qtbot.mouseClick(panel.rows["pieces"].back, Qt.MouseButton.LeftButton)
    assert changed.args == [{"seam seen": 1.0}]
    changed, settled = heard(panel)
    qtbot.mouseClick(panel.reset_button, Qt.MouseButton.LeftButton)
    assert (changed, settled) == ([{}], [{}])
    assert not panel.reset_button.isEnabled()
    assert panel.rows["seam seen"].slider.value() == 100


def test_weights_that_are_set_are_not_signalled(qtbot, panel):
    with qtbot.assertNotEmitted(panel.weights_changed):
        panel.set_weights({"seam seen": 0.0, "no such": 3.0})
    assert panel.weights == {"seam seen": 0.0}


def test_the_wheel_scrolls_the_panel_unless_a_slider_has_the_focus(qtbot, panel):
    slider = panel.rows["pieces"].slider
    panel.fold.setFocus()
    middle = QPointF(slider.rect().center())
    turn = QWheelEvent(
        middle, slider.mapToGlobal(middle), QPoint(), QPoint(0, 120),
        Qt.MouseButton.NoButton, Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase,
        False,
    )  # fmt: skip
    QApplication.sendEvent(slider, turn)
    assert panel.weights == {}
    slider.setFocus()
    QApplication.sendEvent(slider, turn)
    assert panel.weights["pieces"] > 0.25


def test_the_panel_leaves_nothing_behind(qtbot):
    panel = WeightsPanel()
    panel.show()
    gone = weakref.ref(panel)
    panel.close()
    del panel
    gc.collect()
    assert gone() is None


def test_no_weight_is_cut_off_in_a_narrow_column(qtbot):
    panel = WeightsPanel()
    qtbot.addWidget(panel)
    panel.resize(panel.minimumSizeHint().width(), 300)
    panel.show()
    qtbot.waitExposed(panel)
    for box in panel.findChildren(QDoubleSpinBox):
        if box.isVisible():
            right = box.mapTo(panel, box.rect().topRight()).x()
            assert right < panel.width(), box.accessibleName()
