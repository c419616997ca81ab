"""Who judges which finalist: nothing twice, nothing out of turn, and nothing lost."""

from types import SimpleNamespace

import pytest

from splitplanner.plan import Cut
from splitplanner.progress import silent
from splitplanner.solid import Plane, Solid
from splitplanner.suggest import finals
from splitplanner.suggest.finals import Finals
from splitplanner.suggest.judging import Verdict

PLANS = 8
CUTS = [(Cut(Plane((1.0, 0.0, 0.0), 50.0 * number)),) for number in range(PLANS)]
UNSOUND = (1, 3)


class Judge:
    """Says at once which plans are sound, and keeps what it was asked."""

    part = Solid.box((400, 100, 100))

    def __init__(self, log):
        self.log = log

    def ups(self, cuts, report=silent):
        return {}

    def verdict(self, cuts, ups=None, report=silent):
        number = CUTS.index(cuts)
        self.log.append(number)
        if number in UNSOUND:
            return Verdict(None, f"wish {number}")
        return Verdict(SimpleNamespace(cuts=cuts, score=float(number)))


class Second:
    """Begins what it is asked at once, up to a number of tasks, and is gone after some answers."""

    progress = (0.0, "cutting")

    def __init__(self, begins, answers):
        self.log = []
        self.begins, self.left = begins, answers
        self.waiting = []

    @property
    def gone(self):
        return self.left == 0

    def ask(self, what, cuts, ups):
        assert what == "judge"
        self.waiting.append(cuts)
        return len(self.waiting) - 1

    def take_back(self, number):
        return number >= self.begins

    def has_answer(self, number):
        return number < self.begins

    def answer(self, number, look_up):
        look_up()
        if self.gone:
            return None
        self.left -= 1
        return Judge(self.log).verdict(self.waiting[number])


def chosen(monkeypatch, *others, most=4, leaves=False):
    """The numbers that are chosen, shown and judged here, and the broken wish."""
    plans = [
        SimpleNamespace(
            sketch=SimpleNamespace(cuts=cuts, blocks={"1": None, "2": None}), score=float(number)
        )
        for number, cuts in enumerate(CUTS)
    ]
    monkeypatch.setattr(finals, "in_order", lambda *_: plans)
    found = SimpleNamespace(pool=SimpleNamespace(least=2), mirrors=())
    shown, log = [], []
    judging = Finals(
        Judge(log), lambda turn, draft: shown.append((turn, draft.score)), others, leaves
    )
    kept = [CUTS.index(draft.cuts) for draft in judging.chosen(found, most, silent)]
    return kept, shown, judging.broken, log


ALONE = ([0, 2, 4, 5], [(1, 0.0), (3, 2.0), (5, 4.0), (6, 5.0)], "wish 1")


def test_alone_they_are_judged_in_turn(monkeypatch):
    assert chosen(monkeypatch) == (*ALONE, [0, 1, 2, 3, 4, 5])


@pytest.mark.parametrize("leaves", [False, True])
@pytest.mark.parametrize("answers", [0, 1, 3, 100])
@pytest.mark.parametrize("begins", [0, 1, 2, 100])
def test_whoever_judges_the_same_are_chosen_and_shown(monkeypatch, begins, answers, leaves):
    second = Second(begins, answers)
    *same, log = chosen(monkeypatch, second, leaves=leaves)
    assert tuple(same) == ALONE
    # Nothing is judged twice.
    both = log + second.log
    assert len(both) == len(set(both))
    if leaves and answers == 100:
        assert not log


@pytest.mark.parametrize("leaves", [False, True])
@pytest.mark.parametrize("begins", [0, 1, 100])
@pytest.mark.parametrize("answers", [0, 1, 2, 100])
def test_two_others_share_the_plans(monkeypatch, answers, begins, leaves):
    others = Second(begins, answers), Second(begins, 100)
    *same, log = chosen(monkeypatch, *others, leaves=leaves)
    assert tuple(same) == ALONE
    every = log + others[0].log + others[1].log
    assert len(every) == len(set(every))
    if (answers, begins, leaves) == (100, 0, True):
        # Nobody has an answer before it is waited for, so that both get their share.
        assert len(others[0].log) >= 3 <= len(others[1].log)


def test_what_the_other_has_not_begun_is_taken_back(monkeypatch):
    second = Second(0, 100)
    *_, log = chosen(monkeypatch, second)
    assert second.waiting
    assert not second.log
    assert sorted(log) == [0, 1, 2, 3, 4, 5]
