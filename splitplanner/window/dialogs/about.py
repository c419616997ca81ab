"""What the program is: version, licence, cautions, and what it is made of."""

from __future__ import annotations

import platform
import re
from importlib import metadata

from PySide6.QtCore import Qt, qVersion
from PySide6.QtGui import QPixmap
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QHBoxLayout,
    QLabel,
    QPlainTextEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

import splitplanner
from splitplanner.window.parts.note_line import TEXT_FLAGS, Mark, NoteLine

LIBRARIES = (
    "PySide6-Essentials", "vtk", "pyvista", "manifold3d", "numpy", "scipy", "numba", "shapely",
    "trimesh", "embreex", "rectpack", "pydantic", "platformdirs", "psygnal", "tomli-w", "rich",
    "typer", "pillow", "ezdxf", "Hershey-Fonts",
)  # fmt: skip
"""What the program is made of, as the package index calls it."""


def cautions() -> tuple[str, ...]:
    """Return what goes with all figures and papers of the program."""
    from splitplanner import output, strength

    return *strength.CAUTIONS, *output.CAUTIONS


def about_text() -> str:
    """Return all of it as plain text, as for a report of a fault."""
    return "\n\n".join(
        (
            f"Split planner {splitplanner.__version__}, licence Apache-2.0",
            *cautions(),
            f"Python {platform.python_version()}, Qt {qVersion()}, {platform.platform()}",
            "\n".join(f"{name} {version}, {licence}" for name, version, licence in libraries()),
        )
    )


def libraries() -> list[tuple[str, str, str]]:
    """Return name, version and licence of the libraries that are installed with the program."""
    found = []
    for name in LIBRARIES:
        try:
            about = metadata.metadata(name)
        except metadata.PackageNotFoundError:
            continue
        found.append((name, about["Version"], _licence(about)))
    return found


def _licence(about: metadata.PackageMetadata) -> str:
    """Return the licence as a package states it: by its expression, its classifier or its text."""
    if "License-Expression" in about:
        return about["License-Expression"]
    for line in about.get_all("Classifier") or ():
        if match := re.fullmatch(r"License :: (?:OSI Approved :: )?(.+)", line):
            return match[1]
    # A package that states none has no such entry, or an empty one.
    first = ((about.get_all("License") or [""])[0]).strip().partition("\n")[0]
    is_name = 0 < len(first) <= 60 and not first.startswith("Copyright")
    return first if is_name else "licence in its package"


class AboutDialog(QDialog):
    """Shows it; every text can be copied."""

    def __init__(self, icon: QPixmap | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("About Split planner")
        title = QLabel(f"<h2>Split planner {splitplanner.__version__}</h2>", self)
        what = QLabel(
            "Splits a model that is larger than the print bed into sound, printable, joined "
            "pieces.\nLicence: Apache-2.0, without warranty.",
            self,
        )
        what.setWordWrap(True)
        for label in (title, what):
            label.setTextInteractionFlags(TEXT_FLAGS)
        head = QHBoxLayout()
        if icon is not None:
            picture = QLabel(self)
            picture.setPixmap(icon)
            head.addWidget(picture, alignment=Qt.AlignmentFlag.AlignTop)
            head.addSpacing(12)
        words = QVBoxLayout()
        words.addWidget(title)
        words.addWidget(what)
        head.addLayout(words, 1)
        layout = QVBoxLayout(self)
        layout.addLayout(head)
        for caution in cautions():
            note = NoteLine(self)
            note.say(Mark.WARNING, caution)
            layout.addWidget(note)
        layout.addWidget(self._make_list(), 1)
        layout.addLayout(self._make_buttons())
        self.resize(640, 560)

    def _make_list(self) -> QPlainTextEdit:
        made_of = QPlainTextEdit(self)
        made_of.setReadOnly(True)
        made_of.setTabChangesFocus(True)
        made_of.setAccessibleName("Libraries and their licences")
        lines = [f"Python {platform.python_version()}", f"Qt {qVersion()}"]
        lines += [f"{name} {version} ({licence})" for name, version, licence in libraries()]
        made_of.setPlainText("\n".join(lines))
        return made_of

    def _make_buttons(self) -> QHBoxLayout:
        copy = QPushButton("&Copy all", self)
        copy.setToolTip("Copy this page, as for a report of a fault.")
        copy.setAutoDefault(False)
        copy.clicked.connect(lambda: QApplication.clipboard().setText(about_text()))
        close = QPushButton("Close", self)
        close.setDefault(True)
        close.clicked.connect(self.accept)
        buttons = QHBoxLayout()
        buttons.addStretch(1)
        buttons.addWidget(copy)
        buttons.addWidget(close)
        return buttons
