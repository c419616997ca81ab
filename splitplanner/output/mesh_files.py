"""Pieces as binary STL."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from splitplanner.atomic import export_error, write_file
from splitplanner.output.printable import PrintableMesh, printable_mesh
from splitplanner.solid import Solid

_HEADER = b"Binary STL, millimetres, written by Split planner".ljust(80, b" ")
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(shape: Solid | PrintableMesh, name: str = "") -> bytes:
    """Return a solid as binary STL; equal meshes give equal bytes.

    84 + 50 n bytes for n facets: a header of 80 bytes that does not start with ``solid``, the
    count, and for each facet its normal, its three corners (single precision, little-endian, mm,
    counter-clockwise from outside) and an attribute of 0.

    Parameters
    ----------
    shape : Solid or PrintableMesh
        A solid is made printable first; see `printable_mesh`.
    name : str
        Of the piece, for the messages.

    Raises
    ------
    ExportError
        See `printable_mesh`.
    """
    mesh = shape if isinstance(shape, PrintableMesh) else printable_mesh(shape, name)
    corners = mesh.vertices[mesh.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    facets = np.zeros(len(corners), dtype=_FACET)
    # + 0.0 turns -0.0 into 0.0; the normal of a facet without area is written as zero.
    facets["normal"] = np.divide(normals, lengths, np.zeros_like(normals), where=lengths > 0) + 0.0
    facets["corners"] = corners
    return b"".join([_HEADER, len(facets).to_bytes(4, "little"), facets.tobytes()])


def save_stl(shape: Solid | PrintableMesh, path: Path) -> None:
    """Write a solid as a binary STL file; missing parent folders are created.

    Raises
    ------
    ExportError
        See `printable_mesh`; or if the file cannot be written.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise export_error(path.parent, fault) from fault
    write_file(path, stl_bytes(shape, path.stem))
