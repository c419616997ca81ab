"""Names of a package that load their modules when they are first asked for."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from importlib import import_module
from typing import Any


def lazy_names(package: str, modules: Mapping[str, Sequence[str]]) -> Callable[[str], Any]:
    """Return what a package needs as its ``__getattr__``.

    So who needs a single name, such as the window for its start, does not load all of the rest.

    Parameters
    ----------
    package : str
        Its full name.
    modules : mapping of module name to names
        Where the names of the package are.
    """
    homes = {name: module for module, names in modules.items() for name in names}

    def found(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(f"{package}.{homes[name]}"), name)
        setattr(sys.modules[package], name, value)
        return value

    return found
