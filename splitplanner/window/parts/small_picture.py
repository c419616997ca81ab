"""Small pictures as they are drawn for lists, on whatever ground the list has."""

from __future__ import annotations

from PySide6.QtGui import QImage


def small_picture(png: bytes) -> QImage:
    """Return a picture without the paper round what is drawn on it.

    They are drawn on white, which would glare in a dark window. What is white inside a drawing
    stays.

    Parameters
    ----------
    png : bytes
    """
    image = QImage.fromData(png)
    if image.isNull():
        return image
    seen = image.createHeuristicMask(True)
    # In the mask what is to be seen is black.
    seen.setColorTable([0xFF000000, 0xFFFFFFFF])
    image = image.convertToFormat(QImage.Format.Format_ARGB32)
    image.setAlphaChannel(seen.convertToFormat(QImage.Format.Format_Grayscale8))
    return image
