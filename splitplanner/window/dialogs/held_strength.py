"""Fields of what hardware and glue stand, for the strength of seams; nothing is placed by them."""

from __future__ import annotations

from typing import Any, get_args

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFormLayout, QGroupBox, QWidget

from splitplanner.plan import PEEL_SHARE, Fastening, Hold
from splitplanner.plan.fastening import MOST_PULL, MOST_SHEAR, ScrewClass
from splitplanner.window.dialogs.fields import choose_in, list_box
from splitplanner.window.dialogs.number_box import NumberBox, NumberField

GLUE = (
    "Glue scatters widely on printed plastic: take the value of a strip that you glued the way you "
    "glue the part, and tore. Water, heat and a load that lasts take off it."
)
ACROSS = (
    "Glue that is pulled across opens and peels at far less than it shears; more than its lap "
    "shear strength is hardly right."
)
_NUMBERS = (
    (
        NumberField(
            "glue_shear",
            "Lap shear strength of the glue",
            "Shear stress at which your glue lets go on this plastic, by a strip that you glued "
            "and tore; data sheets tell of metal mostly. 0 where glue is not to be counted.",
            " MPa",
            MOST_SHEAR,
            0.5,
            2,
        ),
        "Glue, lap shear s&trength",
        "not counted",
    ),
    (
        NumberField(
            "glue_peel",
            "Stress across the glue",
            "Stress across the glue at which it opens, pulled and peeled; far less than it stands "
            f"in shear. 0 to take {PEEL_SHARE:.2g} of its lap shear strength.",
            " MPa",
            MOST_SHEAR,
            0.5,
            2,
        ),
        "Glue, pulled a&cross",
        f"{PEEL_SHARE:.2g} of it",
    ),
    (
        NumberField(
            "insert_pull_out",
            "Pull-out force of an insert",
            "Force that pulls a heat-set insert out of this plastic, by its maker or by your own "
            "test. 0 to have it estimated.",
            " N",
            MOST_PULL,
            50.0,
        ),
        "Pull-out of an insert",
        "estimated",
    ),
    (
        NumberField(
            "resin_shear",
            "Lap shear strength of the tape's resin",
            "Shear stress at which the tape's resin comes off this plastic, by a strip that you "
            "tore off. 0 where it is taken for granted that it stays on.",
            " MPa",
            MOST_SHEAR,
            0.5,
            2,
        ),
        "Tape's resin, lap shear",
        "not looked at",
    ),
)


class HeldStrength(QGroupBox):
    """Shows what hardware and glue stand and takes changes.

    Signals
    -------
    edited()
    """

    edited = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("For the strength alone", parent)
        self._boxes: dict[str, NumberBox] = {}
        form = QFormLayout(self)
        for number, label, unknown in _NUMBERS:
            box = self._boxes[number.name] = NumberBox(number, self)
            box.setSpecialValueText(unknown)
            box.valueChanged.connect(self.edited)
            form.addRow(label, box)
        self._class = list_box(
            "Property class of the screws",
            "As it is stamped on their heads; of all seams' screws it is that of the bolts of "
            "braces too.",
            [(each, each) for each in get_args(ScrewClass)],
        )
        self._class.currentIndexChanged.connect(self.edited)
        form.addRow("Propert&y class of screws", self._class)

    @property
    def fields(self) -> dict[str, QWidget]:
        """The fields by the names of their entries."""
        return {**self._boxes, "screw_class": self._class}

    def set_fastening(self, fastening: Fastening) -> None:
        """Show what is said of hardware and glue."""
        for name, box in self._boxes.items():
            box.set_number(getattr(fastening, name))
        choose_in(self._class, fastening.screw_class)

    def entries(self) -> dict[str, Any]:
        """Return the entries of a fastening that the fields make."""
        numbers = {name: box.number for name, box in self._boxes.items()}
        return {**numbers, "screw_class": self._class.currentData()}

    def open_fields(self, hold: Hold | None, has_tape: bool) -> None:
        """Leave open only what matters to the rest: by what threads go into, and tape."""
        self._boxes["glue_peel"].setEnabled(self.is_glued)
        self._boxes["insert_pull_out"].setEnabled(hold == "insert")
        self._boxes["resin_shear"].setEnabled(has_tape)

    @property
    def is_glued(self) -> bool:
        """Whether glue is counted."""
        return self._boxes["glue_shear"].value() > 0.0

    @property
    def remark(self) -> str:
        """What is to be known of what is chosen; empty if nothing is."""
        if not self.is_glued:
            return ""
        shear, peel = (self._boxes[name].value() for name in ("glue_shear", "glue_peel"))
        return f"{GLUE} {ACROSS}" if peel > shear else GLUE
