"""How seams are held: every field, what it makes, and what is said of it."""

import gc
import weakref
from dataclasses import fields, replace

import pytest
from PySide6.QtCore import QLocale, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLabel, QLineEdit, QWidget

from splitplanner.plan import Fastening, Fastenings
from splitplanner.window.dialogs.fastening_dialog import SAFETY, FasteningDialog
from splitplanner.window.dialogs.fastening_form import (
    FLANGES,
    MARKS,
    MOST_GAP,
    REGISTERS,
    SCREWS,
    WORDS,
)
from splitplanner.window.dialogs.held_strength import ACROSS, GLUE
from splitplanner.window.dialogs.offered import Offered, offered_hardware
from splitplanner.window.parts.note_line import NoteLine
from splitplanner.window.quantities import Quantities
from splitplanner.workshop.shelf import hardware_shelf
from tests.window.hands import ALT, Keyboard
from tests.window.widgets import button_called

C = QLocale(QLocale.Language.C)
ALL = Fastening(
    pins=True, screws="nut", screw_standard="ISO 7380-1", screw_size="M4", flange="always",
    bosses=True, register="tongue", press_fit=True, slots=False, coat=0.12, glue_gap=0.2,
    tape_plies=2, tape_fibre="carbon", tape_weight=160.25, tape_fibre_share=0.4567,
    marks="engraved", glue_shear=7.123456, glue_peel=1.0 / 3.0, screw_class="12.9",
    insert_pull_out=412.34, resin_shear=10.555,
)  # fmt: skip
OFFERED = Offered(
    {"ISO 4762": ("M2", "M3", "M4"), "ISO 7380-1": ("M3", "M4")},
    {"nut": ("M2", "M3", "M4"), "insert": ("M3",), "plastic": ("M3",)},
    {"insert": ("M3",)},
)


def opened(qtbot, fastening=None, offered=OFFERED, unit="mm", **which):
    held = fastening if isinstance(fastening, Fastenings) else Fastenings(fastening or Fastening())
    made = FasteningDialog(held, offered, **which)
    qtbot.addWidget(made)
    made.set_quantities(Quantities(unit, C))
    made.show()
    assert QTest.qWaitForWindowActive(made)
    made.given, made.whole = [], []
    made.applied.connect(lambda held: made.given.append(held.general))
    made.applied.connect(made.whole.append)
    return made


def field(dialog, name, kind=QWidget):
    (found,) = (each for each in dialog.findChildren(kind) if each.accessibleName() == name)
    return found


def check(dialog, text):
    return button_called(dialog, text, QCheckBox)


def said(dialog):
    return [note.text for note in dialog.findChildren(NoteLine) if note.isVisible()]


def write(box, text):
    box.setFocus()
    box.selectAll()
    QTest.keyClicks(box, text)
    QTest.keyClick(box, Qt.Key.Key_Tab)


def apply(dialog):
    QTest.keyClick(dialog, Qt.Key.Key_Return)
    return dialog.given[-1] if dialog.given else None


# -- fields ---------------------------------------------------------------------------------
@pytest.mark.parametrize("fastening", [Fastening(), ALL], ids=["usual", "all"])
@pytest.mark.parametrize("unit", ["mm", "inch"])
def test_what_is_left_as_it_is_comes_out_to_the_last_digit(qtbot, fastening, unit):
    dialog = opened(qtbot, fastening, unit=unit)
    assert apply(dialog) == fastening
    assert not dialog.isVisible()


@pytest.mark.parametrize(
    ("name", "attribute", "entries"),
    [
        ("Flange", "flange", FLANGES),
        ("Register", "register", REGISTERS),
        ("Marks on the seam faces", "marks", MARKS),
        ("Screws go into", "screws", SCREWS),
    ],
)
def test_lists_are_chosen_from_by_keys(qtbot, name, attribute, entries):
    for at, (key, text) in enumerate(entries):
        dialog = opened(qtbot)
        combo = field(dialog, name, QComboBox)
        combo.setFocus()
        QTest.keyClick(combo, Qt.Key.Key_Home)
        for _ in range(at):
            QTest.keyClick(combo, Qt.Key.Key_Down)
        assert combo.currentText() == text
        assert apply(dialog) == replace(Fastening(), **{attribute: key})


@pytest.mark.parametrize(
    ("text", "attribute"),
    [
        ("Dowel pins", "pins"),
        ("Pressed in", "press_fit"),
        ("Slot for one of two", "slots"),
        ("Bosses only", "bosses"),
    ],
)
def test_boxes_are_ticked_by_the_space_bar(qtbot, text, attribute):
    dialog = opened(qtbot)
    box = check(dialog, text)
    box.setFocus()
    QTest.keyClick(box, Qt.Key.Key_Space)
    before = getattr(Fastening(), attribute)
    assert apply(dialog) == replace(Fastening(), **{attribute: not before})


@pytest.mark.parametrize(("unit", "text", "mm"), [("mm", "0.15", 0.15), ("inch", "0.01", 0.254)])
def test_lengths_are_taken_in_the_unit_that_is_read(qtbot, unit, text, mm):
    for name, attribute in (("Coat", "coat"), ("Glue gap", "glue_gap")):
        dialog = opened(qtbot, unit=unit)
        write(field(dialog, name), text)
        assert getattr(apply(dialog), attribute) == pytest.approx(mm)


def test_tape_is_taken_by_numbers_and_a_word(qtbot):
    dialog = opened(qtbot)
    fibre = field(dialog, "Fibre of the tape", QLineEdit)
    assert not fibre.isEnabled()
    write(field(dialog, "Plies of tape"), "3")
    assert fibre.isEnabled()
    write(fibre, " aramid ")
    write(field(dialog, "Weight of a ply"), "110")
    write(field(dialog, "Share of the fibre"), "45")
    made = apply(dialog)
    assert (made.tape_plies, made.tape_fibre) == (3, "aramid")
    assert (made.tape_weight, made.tape_fibre_share) == (110.0, 0.45)


def test_what_hardware_and_glue_stand_is_taken_in_n_and_mpa_and_told_of(qtbot):
    held = Fastening(screws="insert", tape_plies=1)
    dialog = opened(qtbot, held, unit="inch")
    shear, peel, pull, resin, steel = (
        field(dialog, name)
        for name in (
            "Lap shear strength of the glue",
            "Stress across the glue",
            "Pull-out force of an insert",
            "Lap shear strength of the tape's resin",
            "Property class of the screws",
        )
    )
    assert [box.text() for box in (shear, peel, pull, resin)] == [
        "not counted", "0.2 of it", "estimated", "not looked at",
    ]  # fmt: skip
    assert not peel.isEnabled()
    assert not any(GLUE in text for text in said(dialog))
    write(shear, "8.25")
    assert peel.isEnabled()
    assert any(text.endswith(GLUE) for text in said(dialog))
    write(peel, "9")
    assert any(text.endswith(ACROSS) for text in said(dialog))
    write(peel, "2.5")
    assert not any(ACROSS in text for text in said(dialog))
    write(pull, "420")
    write(resin, "11")
    steel.setCurrentIndex(steel.findData("A2-70"))
    assert apply(dialog) == replace(
        held,
        glue_shear=8.25,
        glue_peel=2.5,
        insert_pull_out=420.0,
        resin_shear=11.0,
        screw_class="A2-70",
    )
    nuts = opened(qtbot, Fastening(screws="nut", glue_shear=8.0))
    for name in ("Pull-out force of an insert", "Lap shear strength of the tape's resin"):
        assert not field(nuts, name).isEnabled()


def test_only_what_matters_is_open(qtbot):
    dialog = opened(qtbot, Fastening(screws="nut"))
    standard, size = field(dialog, "Standard of the screws"), field(dialog, "Size of the thread")
    goes_into = field(dialog, "Screws go into", QComboBox)
    assert standard.isEnabled()
    goes_into.setCurrentIndex(goes_into.findData("plastic"))
    assert (standard.isEnabled(), size.isEnabled()) == (False, True)
    goes_into.setCurrentIndex(goes_into.findData("none"))
    assert not size.isEnabled()
    check(dialog, "Dowel pins").click()
    assert not check(dialog, "Pressed in").isEnabled()
    flange = field(dialog, "Flange", QComboBox)
    flange.setCurrentIndex(flange.findData("never"))
    assert not check(dialog, "Bosses only").isEnabled()


# -- screws on the shelf --------------------------------------------------------------------
def items(combo):
    return [combo.itemText(at) for at in range(combo.count())]


def test_sizes_are_those_of_the_standard_and_of_what_the_thread_goes_into(qtbot):
    dialog = opened(qtbot, Fastening(screws="nut", screw_size="M2"))
    size = field(dialog, "Size of the thread", QComboBox)
    standard = field(dialog, "Standard of the screws", QComboBox)
    goes_into = field(dialog, "Screws go into", QComboBox)
    assert items(size) == ["M2", "M3", "M4"]
    # There is no M2 of the other standard: the usual size is taken.
    standard.setCurrentIndex(1)
    assert (items(size), size.currentText()) == (["M3", "M4"], "M3")
    size.setCurrentIndex(1)
    goes_into.setCurrentIndex(goes_into.findData("insert"))
    assert (items(size), size.currentText()) == (["M3"], "M3")
    assert (apply(dialog).screws, dialog.given[-1].screw_standard) == ("insert", "ISO 7380-1")


def test_what_is_not_on_the_shelf_stays_and_is_told(qtbot):
    dialog = opened(qtbot, Fastening(screws="nut", screw_size="M7"))
    size = field(dialog, "Size of the thread", QComboBox)
    assert size.currentText() == "M7 (not on the shelf)"
    assert said(dialog) == [
        "There is no screw and nut of size M7 on the shelf; choose another one."
    ]
    assert apply(dialog) is None
    assert dialog.isVisible()
    size.setCurrentIndex(0)
    assert not said(dialog)
    assert apply(dialog).screw_size == "M2"


def test_an_example_of_the_shelf_is_marked_as_one(qtbot):
    dialog = opened(qtbot, Fastening(screws="insert"))
    assert len(said(dialog)) == 1
    assert "is only an example" in said(dialog)[0]
    assert apply(dialog).screws == "insert"


def test_the_shelf_offers_what_it_has():
    offered, shelf = offered_hardware(), hardware_shelf()
    for standard in offered.standards("nut"):
        for size in offered.sizes_of("nut", standard):
            assert shelf.screw(standard, size).size == shelf.nut(size).size == size
        for size in offered.sizes_of("insert", standard):
            assert shelf.insert(size).size == size
    for size in offered.sizes_of("plastic", ""):
        assert shelf.forming_screw(shelf.thread(size).diameter).diameter > 0
    usual = Fastening()
    for hold in ("nut", "insert", "plastic"):
        assert usual.screw_size in offered.sizes_of(hold, usual.screw_standard)


# -- what is said ---------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("name", "text", "unit", "told"),
    [
        ("Coat", "8", "mm", "The coat must be between 0 and 5.00 mm, got 8.00 mm."),
        ("Glue gap", "0.5", "inch", "The glue gap must be between 0 and 0.197 in, got 0.500 in."),
        (
            "Share of the fibre",
            "100",
            "mm",
            "The fibre's share of the weight is above 0 % and below 100 %, got 100 %.",
        ),
        ("Weight of a ply", "0", "mm", "A ply of tape weighs between 0 and 2000 g/m², got 0."),
        ("Fibre of the tape", " ", "mm", "Name the fibre of the tape, such as glass."),
    ],
)
def test_bad_input_is_told_in_a_sentence_and_not_taken(qtbot, name, text, unit, told):
    dialog = opened(qtbot, Fastening(tape_plies=1), unit=unit)
    write(field(dialog, name), text)
    assert dialog.fault == told
    assert said(dialog) == [SAFETY, told]
    assert not button_called(dialog, "Hold the seams so").isEnabled()
    dialog.accept()
    assert dialog.isVisible()
    assert not dialog.given


def test_the_limit_is_that_of_a_fastening():
    Fastening(coat=MOST_GAP, glue_gap=MOST_GAP)
    with pytest.raises(ValueError, match="coat"):
        Fastening(coat=MOST_GAP + 0.01)


def test_epoxy_is_warned_of_where_there_may_be_any(qtbot):
    dialog = opened(qtbot)
    assert SAFETY not in said(dialog)
    for name, text in (("Coat", "0.1"), ("Glue gap", "0.1"), ("Plies of tape", "1"),
                       ("Lap shear strength of the glue", "8")):  # fmt: skip
        write(field(dialog, name), text)
        assert SAFETY in said(dialog)
        write(field(dialog, name), "0")
        assert SAFETY not in said(dialog)


# -- the whole ------------------------------------------------------------------------------
def test_it_is_done_by_keys_alone(qtbot):
    dialog = opened(qtbot)
    keys = Keyboard()
    goes_into = field(dialog, "Screws go into", QComboBox)
    keys.press(Qt.Key.Key_G, ALT)
    assert QApplication.focusWidget() is goes_into
    keys.press(Qt.Key.Key_Down)
    keys.tab_to(field(dialog, "Size of the thread"))
    keys.press(Qt.Key.Key_End)
    keys.press(Qt.Key.Key_B, ALT)
    # A button that is pressed by its letter is let go a moment later.
    with qtbot.waitSignal(dialog.applied):
        keys.press(Qt.Key.Key_S, ALT)
    assert dialog.given == [Fastening(screws="nut", screw_size="M4", bosses=True)]


# -- single seams ---------------------------------------------------------------------------
SEAMS = ("S1", "S2", "S10")
MIXED = Fastenings(Fastening(coat=0.1), {"S10": Fastening(coat=0.1, register="lap", slots=False)})


def which(dialog):
    return field(dialog, "Which seams", QComboBox)


def bold(dialog):
    """What is written bold: labels and boxes, without the letters that are underlined."""
    found = [each for kind in (QLabel, QCheckBox) for each in dialog.findChildren(kind)]
    return {each.text().replace("&", "") for each in found if each.font().bold() and each.text()}


def test_without_seams_there_is_nothing_to_choose(qtbot):
    dialog = opened(qtbot, MIXED)
    assert not which(dialog).isVisible()
    assert apply(dialog) == MIXED.general
    assert dialog.whole == [MIXED]


def test_all_seams_and_each_are_offered(qtbot):
    dialog = opened(qtbot, MIXED, seams=SEAMS)
    assert items(which(dialog)) == [
        "all seams", "only seam S1", "only seam S2", "only seam S10, held in its own way",
    ]  # fmt: skip
    assert which(dialog).currentText() == "all seams"
    assert "Seam S10 is held in its own way; where it differs it stays so." in said(dialog)
    assert not button_called(dialog, "Back to how all are held").isVisible()
    assert bold(dialog) == set()


def test_a_seam_that_is_chosen_is_shown_with_what_differs(qtbot):
    dialog = opened(qtbot, MIXED, seams=SEAMS, seam="S10")
    assert field(dialog, "Register", QComboBox).currentText() == "lap"
    assert bold(dialog) == {"Register", "Slot for one of two"}
    (note,) = [text for text in said(dialog) if "S10" in text]
    assert note == "In bold, where seam S10 is held otherwise than the others: slot, register."
    write(field(dialog, "Coat"), "0.3")
    assert bold(dialog) == {"Register", "Slot for one of two", "Coat"}
    apply(dialog)
    own = Fastening(coat=0.3, register="lap", slots=False)
    assert dialog.whole == [Fastenings(MIXED.general, {"S10": own})]


def test_a_seam_goes_back_to_how_all_are_held(qtbot):
    dialog = opened(qtbot, MIXED, seams=SEAMS, seam="S10")
    back = button_called(dialog, "Back to how all are held")
    back.click()
    assert bold(dialog) == set()
    assert not back.isEnabled()
    assert any("S10 is held as all others" in text for text in said(dialog))
    apply(dialog)
    assert dialog.whole == [Fastenings(MIXED.general)]


def test_several_seams_and_all_of_them_are_changed_in_one_go_by_keys(qtbot):
    dialog = opened(qtbot, MIXED, seams=SEAMS)
    keys = Keyboard()
    keys.press(Qt.Key.Key_A, ALT)
    assert QApplication.focusWidget() is which(dialog)
    keys.press(Qt.Key.Key_Down)
    check(dialog, "Dowel pins").click()
    which(dialog).setFocus()
    keys.press(Qt.Key.Key_Home)
    assert "only seam S1, held in its own way" in items(which(dialog))
    # All others follow, S1 and S10 but for what differs.
    write(field(dialog, "Coat"), "0.2")
    check(dialog, "Slot for one of two").click()
    apply(dialog)
    assert dialog.whole == [
        Fastenings(
            Fastening(coat=0.2, slots=False),
            {
                "S1": Fastening(coat=0.2, slots=False, pins=False),
                "S10": Fastening(coat=0.2, slots=False, register="lap"),
            },
        )
    ]


def test_what_makes_no_sense_is_not_left_for_another_seam(qtbot):
    dialog = opened(qtbot, MIXED, seams=SEAMS, seam="S2")
    write(field(dialog, "Coat"), "9")
    which(dialog).setCurrentIndex(0)
    assert which(dialog).currentText() == "only seam S2"
    assert field(dialog, "Coat").value() == 9.0
    assert dialog.fault == "The coat must be between 0 and 5.00 mm, got 9.00 mm."
    write(field(dialog, "Coat"), "1")
    which(dialog).setCurrentIndex(0)
    assert which(dialog).currentText() == "all seams"
    assert field(dialog, "Coat").value() == 0.1
    apply(dialog)
    assert dialog.whole == [MIXED.with_own("S2", Fastening(coat=1.0))]


def test_only_looking_changes_nothing(qtbot):
    held = Fastenings(ALL, {"S2": replace(ALL, marks="raised")})
    dialog = opened(qtbot, held, seams=SEAMS, unit="inch")
    for at in (1, 2, 3, 0, 2):
        which(dialog).setCurrentIndex(at)
    apply(dialog)
    assert dialog.whole == [held]


def test_every_entry_has_a_word():
    assert set(WORDS) == {each.name for each in fields(Fastening)}


def test_nothing_comes_of_esc(qtbot):
    dialog = opened(qtbot)
    check(dialog, "Dowel pins").click()
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert not dialog.isVisible()
    assert not dialog.given


def test_it_leaves_nothing_behind():
    dialog = FasteningDialog(Fastenings(ALL), OFFERED)
    gone = weakref.ref(dialog)
    dialog.close()
    del dialog
    gc.collect()
    assert gone() is None
