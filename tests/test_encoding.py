"""Texts are read and written as UTF-8, whatever the locale of the machine."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
FILES = sorted(
    file.relative_to(ROOT)
    for room in ("splitplanner", "tests")
    for file in (ROOT / room).rglob("*.py")
)


def unsaid(source):
    """Lines of a source on which a text is read or written, or heard, in the locale's encoding."""
    for call in ast.walk(ast.parse(source)):
        if not isinstance(call, ast.Call):
            continue
        name = getattr(call.func, "attr", getattr(call.func, "id", ""))
        words = {word.arg: word.value for word in call.keywords}
        places = {"read_text": 1, "write_text": 2}
        if "encoding" in words:
            continue
        if len(call.args) < places.get(name, 0):
            yield call.lineno
        if isinstance(call.func, ast.Name) and name == "open":
            mode = words.get("mode", call.args[1] if len(call.args) > 1 else None)
            if not (isinstance(mode, ast.Constant) and "b" in mode.value):
                yield call.lineno
        if "text" in words and name in ("run", "Popen", "check_output"):
            yield call.lineno


@pytest.mark.parametrize(
    "source",
    ["p.read_text()", "p.write_text(a)", "open(p)", "open(p, 'w')", "run(a, text=True)"],
)
def test_what_is_in_the_encoding_of_the_locale_is_found(source):
    assert list(unsaid(source)) == [1]


def test_every_text_says_its_encoding():
    found = [
        f"{file}:{line}" for file in FILES for line in unsaid((ROOT / file).read_text("utf-8"))
    ]
    assert len(FILES) > 100
    assert found == []
