"""Seams held in their own way in the whole window, with its real processes."""

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox

from splitplanner.plan import Fastening
from splitplanner.solid import Plane
from tests.window.widgets import button_called

OWN = Fastening(press_fit=True)


def vents(plan, seam):
    """Whether the holes of its pins have grooves that let the air out."""
    return {pin.vent > 0 for pin in plan.joint(seam).pins}


def test_what_is_said_of_a_seam_follows_it_and_is_told_when_it_goes(desk, model):
    """A bar with cuts at 150 and 300 mm; the second seam has pins that are pressed in."""

    def answer():
        dialog = QApplication.activeModalWidget()
        (which,) = (
            box for box in dialog.findChildren(QComboBox) if box.accessibleName() == "Which seams"
        )
        shown.append(which.currentText())
        button_called(dialog, "Pressed in", QCheckBox).click()
        dialog.accept()

    desk.begin(model)
    session, window, shown = desk.session, desk.window, []
    for x in (150.0, 300.0):
        window.tables_link.add_cut(Plane((1.0, 0.0, 0.0), x))
        desk.settle()
    assert [vents(session.plan, name) for name in ("S1", "S2")] == [{False}, {False}]
    window.seams.choose("S2")
    QTimer.singleShot(0, answer)
    window.seams.own_action.trigger()
    assert shown == ["only seam S2"]
    desk.settle()
    assert session.plan.own_fastenings == {"S2": OWN}
    assert [vents(session.plan, name) for name in ("S1", "S2")] == [{False}, {True}]
    (marked,) = [row.name for row in window.seams.table.rows_model.rows if row.is_own]
    assert marked == "S2"
    # Without the first cut the seam at 300 mm is called S1.
    window.tables_link.act_on_cut("delete", 0)
    desk.settle()
    desk.until(lambda: session.plan.seams_named_by is None)
    assert session.plan.own_fastenings == {"S1": OWN}
    assert {pin.at[0] for pin in session.plan.joint("S1").pins} == {300.0}
    assert vents(session.plan, "S1") == {True}
    assert desk.said == []
    window.tables_link.act_on_cut("delete", 0)
    desk.settle()
    desk.until(lambda: session.plan.seams_named_by is None)
    assert session.plan.own_fastenings == {}
    (told,) = desk.said
    assert "seam S1 was held otherwise" in told
    for _ in range(3):
        session.document.undo()
    desk.settle()
    assert session.plan.own_fastenings == {}
    session.document.redo()
    assert session.plan.own_fastenings == {"S2": OWN}
    assert not desk.faults
