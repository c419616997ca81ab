"""What each package offers is what it says it offers."""

import importlib
import pkgutil
import re
import types

import pytest

import splitplanner

PACKAGES = sorted(
    found.name
    for found in pkgutil.walk_packages(splitplanner.__path__, "splitplanner.")
    if found.ispkg
)


def natural(name):
    """Constants, then classes, then functions, each in order: as `ruff` sorts them (RUF022)."""
    kind = 0 if name.isupper() and len(name) > 1 else 1 if name[0].isupper() else 2
    return kind, [int(part) if part.isdigit() else part for part in re.split(r"(\d+)", name)]


def test_the_rooms_are_found():
    assert {f"splitplanner.{room}" for room in ("solid", "plan", "workshop", "output")} <= set(
        PACKAGES
    )


def made_in(package, name, thing):
    """Whether a name of a package is its own, rather than one it only uses."""
    if name.startswith("_") or name == "annotations" or isinstance(thing, types.ModuleType):
        return False
    if isinstance(thing, type | types.FunctionType) and not isinstance(thing, types.GenericAlias):
        return thing.__module__ == package or thing.__module__.startswith(f"{package}.")
    return getattr(thing, "__module__", "builtins") in ("builtins", package)


@pytest.mark.parametrize("package", PACKAGES)
def test_all_is_sorted_exists_and_is_what_is_exported(package):
    room = importlib.import_module(package)
    own = {name for name, thing in vars(room).items() if made_in(package, name, thing)}
    listed = list(getattr(room, "__all__", []))
    assert listed == sorted(listed, key=natural)
    assert len(set(listed)) == len(listed)
    # Some rooms load what they offer when it is asked for.
    assert all(hasattr(room, name) for name in listed)
    assert own <= set(listed)


@pytest.mark.parametrize("package", PACKAGES)
def test_every_public_name_is_documented(package):
    room = importlib.import_module(package)
    assert room.__doc__
    for name in getattr(room, "__all__", []):
        thing = getattr(room, name)
        if isinstance(thing, type | types.FunctionType):
            assert thing.__doc__, f"{package}.{name}"
            assert thing.__module__.startswith("splitplanner."), f"{package}.{name}"
