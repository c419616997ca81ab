"""The part and the whole window that many tests begin with."""

import pytest
from PySide6.QtTest import QTest

from tests.planned import box, save
from tests.window.desk import SIZES, Desk


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    return save(box(SIZES), tmp_path_factory.mktemp("window") / "long.stl")


@pytest.fixture(scope="module")
def desk(qapp, tmp_path_factory):
    made = Desk(tmp_path_factory.mktemp("desk") / "kept")
    made.window.activateWindow()
    assert QTest.qWaitForWindowActive(made.window)
    yield made
    made.close()
