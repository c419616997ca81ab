"""The tree drawn at the top of errors.py is the real one."""

import inspect
import re

from splitplanner import errors
from splitplanner.errors import SplitPlannerError
from splitplanner.findings import Finding, Severity

BRANCH = re.compile(r"^(?P<stem>[│ ]*)(?P<fork>[├└]── )?(?P<name>[A-Z]\w+)\b")


def drawn():
    """Class name -> name of its parent, as the docstring draws it."""
    lines = inspect.getdoc(errors).split("::", 1)[1].splitlines()
    tree, path = {}, []
    for line in inspect.cleandoc("\n".join(lines)).splitlines():
        match = BRANCH.match(line)
        assert match, f"cannot read the line {line!r}"
        depth = (len(match["stem"]) // 4 + 1) if match["fork"] else 0
        path = [*path[:depth], match["name"]]
        tree[match["name"]] = path[depth - 1] if depth else "Exception"
    return tree


def defined():
    return {
        name: thing.__base__.__name__
        for name, thing in vars(errors).items()
        if inspect.isclass(thing) and thing.__module__ == errors.__name__
    }


def test_the_tree_is_drawn_as_it_is():
    assert drawn() == defined()
    assert len(drawn()) > 5


def test_every_class_says_in_one_paragraph_when_it_happens():
    for name in defined():
        text = vars(getattr(errors, name))["__doc__"]
        assert text, name
        assert text.splitlines()[0].endswith("."), name


def test_every_error_carries_its_subject_and_findings():
    finding = Finding("cut.missed", Severity.FAULT, "It misses.")
    for name in defined():
        fault = getattr(errors, name)("What, where.", subject="1.2", findings=(finding,))
        assert str(fault) == "What, where."
        assert fault.subject == "1.2"
        assert fault.findings == (finding,)
        assert isinstance(fault, SplitPlannerError)
    assert SplitPlannerError("x").findings == ()
