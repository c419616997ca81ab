"""Small pictures of plans and pieces, on any ground."""

from PySide6.QtCore import QBuffer, QIODevice, QRect
from PySide6.QtGui import QColor, QImage, QPainter

from splitplanner.window.parts.small_picture import small_picture


def png_of(image):
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    image.save(buffer, "PNG")
    return bytes(buffer.data())


def test_the_paper_round_a_drawing_is_taken_away_and_white_in_it_stays(qapp):
    drawn = QImage(60, 40, QImage.Format.Format_RGB32)
    drawn.fill(QColor("white"))
    painter = QPainter(drawn)
    painter.fillRect(QRect(10, 10, 30, 20), QColor("#E69F00"))
    painter.fillRect(QRect(20, 15, 8, 8), QColor("white"))
    painter.end()
    found = small_picture(png_of(drawn))
    assert found.size() == drawn.size()
    for x in range(60):
        for y in range(40):
            is_drawn = 10 <= x < 40 and 10 <= y < 30
            assert found.pixelColor(x, y).alpha() == (255 if is_drawn else 0), (x, y)
            if is_drawn:
                assert found.pixelColor(x, y).name() == drawn.pixelColor(x, y).name()


def test_what_is_no_picture_is_none(qapp):
    assert small_picture(b"no picture").isNull()
