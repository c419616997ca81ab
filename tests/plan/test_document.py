"""The document: undo, redo, drags, signals."""

from dataclasses import replace

import pytest

from splitplanner.plan import Document, PartFile, Plan
from splitplanner.workshop import Printer

START = Plan(PartFile("part.stl", "mm", "x"), Printer())


def plan(seed):
    return replace(START, seed=seed)


class Heard:
    """Counts what a document says."""

    def __init__(self, document):
        self.plans, self.history = [], 0
        document.changed.connect(self.on_changed)
        document.history_changed.connect(self.on_history)

    def on_changed(self, value):
        self.plans.append(value)

    def on_history(self):
        self.history += 1


def test_a_step_is_undone_and_redone_and_named():
    document = Document(START)
    heard = Heard(document)
    document.apply("move the cut", plan(1))
    document.apply("turn the cut", plan(2))
    assert document.current == plan(2)
    assert (document.undo_label, document.redo_label) == ("turn the cut", "")
    assert document.undo_labels == ("turn the cut", "move the cut")
    document.undo()
    assert document.current == plan(1)
    assert (document.undo_label, document.redo_label) == ("move the cut", "turn the cut")
    document.undo()
    assert not document.can_undo
    assert document.redo_labels == ("move the cut", "turn the cut")
    document.redo()
    document.redo()
    assert document.current == plan(2)
    assert not document.can_redo
    assert heard.plans == [plan(1), plan(2), plan(1), START, plan(1), plan(2)]
    assert heard.history == 6


def test_a_new_step_forgets_what_was_undone():
    document = Document(START)
    document.apply("a", plan(1))
    document.undo()
    document.apply("b", plan(2))
    assert not document.can_redo
    document.undo()
    assert document.current == START


def test_nothing_is_said_or_kept_when_nothing_changes():
    document = Document(START)
    heard = Heard(document)
    document.apply("nothing", replace(START))
    document.undo()
    document.redo()
    document.mark_saved()
    assert heard.plans == []
    assert heard.history == 0
    assert not document.can_undo


def test_the_oldest_steps_are_forgotten():
    document = Document(plan(0), depth=3)
    for seed in range(1, 6):
        document.apply(str(seed), plan(seed))
    while document.can_undo:
        document.undo()
    assert document.current == plan(2)
    assert Document(START)._done.maxlen == 200
    with pytest.raises(ValueError, match="at least one step"):
        Document(START, depth=0)


def test_one_drag_is_one_step():
    document = Document(START)
    heard = Heard(document)
    document.begin("drag the cut")
    assert document.is_dragging
    for seed in range(1, 30):
        document.preview(plan(seed))
    document.preview(plan(29))
    document.commit()
    assert len(heard.plans) == 29
    assert document.undo_labels == ("drag the cut",)
    document.undo()
    assert document.current == START
    document.redo()
    assert document.current == plan(29)


def test_an_aborted_drag_leaves_all_as_it_was():
    document = Document(START)
    document.apply("a", plan(1))
    document.apply("b", plan(2))
    document.undo()
    document.begin("drag")
    document.preview(plan(9))
    document.abort()
    assert document.current == plan(1)
    assert (document.undo_labels, document.redo_labels) == (("a",), ("b",))


def test_a_drag_back_to_where_it_began_is_no_step():
    document = Document(START)
    document.apply("a", plan(1))
    document.undo()
    document.begin("drag")
    document.preview(plan(5))
    document.preview(START)
    document.commit()
    assert not document.can_undo
    assert document.redo_labels == ("a",)


@pytest.mark.parametrize("key", ["undo", "redo"])
def test_undo_and_redo_end_an_open_drag(key):
    document = Document(START)
    document.apply("a", plan(1))
    document.begin("drag")
    document.preview(plan(2))
    assert document.undo_label == "drag"
    assert not document.can_redo
    getattr(document, key)()
    assert document.current == plan(1)
    assert not document.is_dragging
    assert document.undo_labels == ("a",)


def test_drags_out_of_order_are_faults_of_the_caller():
    document = Document(START)
    for call in (lambda: document.preview(plan(1)), document.commit, document.abort):
        with pytest.raises(RuntimeError, match="begin"):
            call()
    document.begin("drag")
    with pytest.raises(RuntimeError, match="while “drag” is open"):
        document.begin("other")
    with pytest.raises(RuntimeError, match="while “drag” is open"):
        document.apply("other", plan(1))


def test_it_knows_whether_there_is_something_to_save():
    document = Document(START)
    assert not document.is_changed
    document.apply("a", plan(1))
    assert document.is_changed
    document.undo()
    assert not document.is_changed
    document.redo()
    heard = Heard(document)
    document.mark_saved()
    assert heard.history == 1
    assert not document.is_changed
    document.undo()
    assert document.is_changed


def test_a_listener_sees_a_document_in_order_and_may_call_back():
    document = Document(START)
    seen = []

    def listener(value):
        seen.append((value.seed, document.current.seed, document.undo_label))
        if value.seed == 1:
            document.apply("answer", plan(2))

    document.changed.connect(listener)
    document.apply("question", plan(1))
    assert seen == [(1, 1, "question"), (2, 2, "answer")]
    document.changed.disconnect(listener)
    document.undo()
    assert document.current == plan(1)


def test_what_follows_from_a_step_becomes_part_of_it():
    document = Document(START)
    document.apply("move the cut", plan(1))
    document.amend(plan(1), plan(10))
    assert document.current == plan(10)
    document.undo()
    assert document.current == START
    document.redo()
    assert document.current == plan(10)


def test_what_followed_from_a_state_that_is_gone_is_dropped():
    document = Document(START)
    document.apply("move the cut", plan(1))
    document.apply("turn the cut", plan(2))
    document.amend(plan(1), plan(10))
    assert document.current == plan(2)
    document.undo()
    document.amend(plan(1), plan(10))
    document.redo()
    assert document.current == plan(2)
    document.undo()
    assert document.current == plan(10)


def test_nothing_is_amended_during_a_drag():
    document = Document(START)
    document.begin("drag")
    document.preview(plan(1))
    document.amend(plan(1), plan(10))
    document.commit()
    assert document.current == plan(1)


def test_what_follows_from_the_start_is_no_change():
    document = Document(START)
    document.amend(START, plan(10))
    assert document.current == plan(10)
    assert not document.is_changed
    document.apply("move the cut", plan(1))
    document.mark_saved()
    document.amend(plan(1), plan(11))
    assert document.is_changed
