"""Pieces in 3MF files: all of them, each on a bed of its own, or those that share one bed.

3MF Core Specification 1.4.0 (3MF Consortium); section numbers below are of that document.
"""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from xml.sax.saxutils import quoteattr

import numpy as np
from shapely.geometry import MultiPolygon

from splitplanner import __version__
from splitplanner.arrays import Floats, frozen_floats
from splitplanner.errors import ExportError
from splitplanner.output.printable import PrintableMesh
from splitplanner.plan import Vector
from splitplanner.workshop import Bed

BED_GAP = 20.0
"""Left between two beds that stand side by side in the file, mm."""

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MODEL_PART = "/3D/3dModel.model"
# Appendix C.1 and, for the relationships, Open Packaging Conventions (ISO/IEC 29500-2).
_CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">\n'
    ' <Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>\n'
    ' <Default Extension="model" '
    'ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>\n'
    "</Types>\n"
)
# 2.1.1: the package's root relationship to its model.
_RELATIONSHIPS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">\n'
    f' <Relationship Id="rel0" Target="{_MODEL_PART}" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>\n'
    "</Relationships>\n"
)
# What XML 1.0 (section 2.2) does not allow in any form, and lone halves of surrogate pairs.
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
# Level 4 is twice as quick as zlib's own choice and makes files a tenth larger.
_LEVEL = 4
_SPECK = 1e-6
"""Plan views that have no more than this in common only touch, mm²."""


@dataclass(frozen=True, eq=False)
class BuildItem:
    """One piece and where it lies.

    Attributes
    ----------
    name : str
        Shown by the program that opens the file.
    mesh : PrintableMesh
        Lying in its print direction.
    offset : (x, y, z)
        Added to the mesh's coordinates in the file, mm.
    yaw : float
        Turn of the mesh about the z of its own coordinates before that, degrees counter-clockwise.
    outline : shapely MultiPolygon or None
        Its plan view in the file, mm. Pieces whose boxes overlap are held against each other by
        these; without them they count as overlapping.
    """

    name: str
    mesh: PrintableMesh
    offset: Vector = (0.0, 0.0, 0.0)
    yaw: float = 0.0
    outline: MultiPolygon | None = None

    @cached_property
    def bounds(self) -> Floats:
        """Low and high corner of the bounding box in the file, (2, 3) mm."""
        if not self.yaw:
            return frozen_floats(self.mesh.bounds + np.array(self.offset))
        placed = self.mesh.vertices @ self.turn + np.array(self.offset)
        return frozen_floats([placed.min(axis=0), placed.max(axis=0)])

    @property
    def turn(self) -> Floats:
        """What the mesh is turned by, (3, 3) for rows, as 3MF has it (3.3)."""
        c, s = np.cos(np.radians(self.yaw)), np.sin(np.radians(self.yaw))
        matrix = np.array([[c, s, 0.0], [-s, c, 0.0], [0.0, 0.0, 1.0]])
        # As many decimals as the file has.
        return frozen_floats(np.round(matrix, 9) + 0.0)


def on_beds(
    pieces: Sequence[tuple[str, PrintableMesh]], bed: Bed, gap: float = BED_GAP
) -> tuple[BuildItem, ...]:
    """Put each of the named `pieces` on a bed of its own, the beds side by side along x.

    Parameters
    ----------
    pieces : sequence of (name, mesh)
        Each in the frame of its bed: x and y from the bed's low corner, z = 0 on its surface.
    bed : Bed
    gap : float
        Between two beds, mm.

    Raises
    ------
    ExportError
        If a piece reaches beyond its bed, to which it then does not belong.
    """
    items = []
    for index, (name, mesh) in enumerate(pieces):
        item = BuildItem(name, mesh)
        _check_on_bed(item, bed)
        raised = _raised(item.bounds[0])
        shift = raised + np.array([index * (bed.width + gap), 0.0, 0.0])
        items.append(replace(item, offset=(float(shift[0]), float(shift[1]), float(shift[2]))))
    return tuple(items)


def on_one_bed(items: Sequence[BuildItem], bed: Bed) -> tuple[BuildItem, ...]:
    """Return pieces that lie on one bed as its file has them: none a trace below zero.

    Parameters
    ----------
    items : sequence of BuildItem
        In the frame of the bed: x and y from its low corner, z = 0 on its surface.
    bed : Bed

    Raises
    ------
    ExportError
        If a piece reaches beyond the bed.
    """
    for item in items:
        _check_on_bed(item, bed)
    raised = _raised(np.min([item.bounds[0] for item in items], axis=0))
    return tuple(
        replace(item, offset=tuple((np.array(item.offset) + raised).tolist())) for item in items
    )


def _check_on_bed(item: BuildItem, bed: Bed) -> None:
    low_end, high_end = item.bounds
    high = np.array([bed.width, bed.depth, bed.height])
    if (low_end < -0.01).any() or (high_end > high + 0.01).any():
        reach = " to ".join("(" + ", ".join(f"{x:.2f}" for x in end) + ")" for end in item.bounds)
        raise ExportError(
            f"Piece “{item.name}” reaches from {reach} mm, beyond its bed of {bed} mm; "
            "plan it again for this bed.",
            subject=item.name,
        )


def _raised(low: Floats) -> Floats:
    """Return what keeps a corner that rounding left a trace below zero in the positive octant."""
    raised: Floats = np.ceil(np.maximum(-low, 0.0) * 1e6) / 1e6
    return raised


def three_mf_bytes(items: Sequence[BuildItem], title: str, part_number: str = "") -> bytes:
    """Return a 3MF file with one named object for each item; equal input gives equal bytes.

    Parameters
    ----------
    items : sequence of BuildItem
    title : str
        Of the whole file.
    part_number : str
        Of the part that the pieces come from, given to each of them (chapter 4); may be empty.

    Raises
    ------
    ExportError
        If there is no item, an item is not in the positive octant (3.3), two items overlap
        (3.4.3.1), or an item has fewer than the four triangles a mesh needs (4.1.4).
    """
    _check(items)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in (
            ("[Content_Types].xml", _CONTENT_TYPES.encode("utf-8")),
            ("_rels/.rels", _RELATIONSHIPS.encode("utf-8")),
            (_MODEL_PART.lstrip("/"), _model(items, title, part_number).encode("utf-8")),
        ):
            # Fixed time, system and rights: the same pieces give the same bytes anywhere.
            entry = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            entry.create_system = 3
            entry.external_attr = 0o644 << 16
            package.writestr(entry, content, zipfile.ZIP_DEFLATED, _LEVEL)
    return stream.getvalue()


def _check(items: Sequence[BuildItem]) -> None:
    if not items:
        raise ExportError("There is no piece to write into the 3MF file.")
    for item in items:
        if len(item.mesh.faces) < 4:
            raise ExportError(f"Piece “{item.name}” has no volume to print.", subject=item.name)
        if (item.bounds[0] < 0).any():
            raise ExportError(
                f"Piece “{item.name}” lies at negative coordinates in the 3MF file; "
                "put it on its bed first.",
                subject=item.name,
            )
    lows = np.array([item.bounds[0] for item in items])
    highs = np.array([item.bounds[1] for item in items])
    meet = ((lows[:, None] < highs[None]) & (lows[None] < highs[:, None])).all(axis=2)
    for one, other in np.argwhere(np.triu(meet, 1)):
        first, second = items[int(one)], items[int(other)]
        if _overlap(first, second):
            raise ExportError(
                f"Pieces “{first.name}” and “{second.name}” would overlap in the 3MF file; "
                "put each on a bed of its own.",
                subject=first.name,
            )


def _overlap(first: BuildItem, second: BuildItem) -> bool:
    """Whether two pieces whose boxes overlap do so themselves, in plan."""
    if first.outline is None or second.outline is None:
        return True
    return bool(first.outline.intersection(second.outline).area > _SPECK)


def _model(items: Sequence[BuildItem], title: str, part_number: str) -> str:
    part = f" partnumber={_quoted(part_number)}" if part_number else ""
    chunks = [
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">\n'
        f' <metadata name="Title">{_escaped(title)}</metadata>\n'
        f' <metadata name="Application">Split planner {__version__}</metadata>\n'
        " <resources>\n"
    ]
    for index, item in enumerate(items, 1):
        chunks.append(
            f'  <object id="{index}" type="model" name={_quoted(item.name)}{part}>\n   <mesh>\n'
        )
        chunks.append(_mesh(item.mesh))
        chunks.append("   </mesh>\n  </object>\n")
    chunks.append(" </resources>\n <build>\n")
    for index, item in enumerate(items, 1):
        # 3.3: row-major, row vectors, the last three numbers are the translation.
        turn = " ".join(f"{value:.9g}" for value in item.turn.ravel())
        shift = " ".join(f"{round(value, 6) + 0.0:.9g}" for value in item.offset)
        chunks.append(f'  <item objectid="{index}" transform="{turn} {shift}"/>\n')
    chunks.append(" </build>\n</model>\n")
    return "".join(chunks)


def _mesh(mesh: PrintableMesh) -> str:
    # Nine digits tell any two numbers of single precision apart (IEEE 754), and the mesh holds
    # such numbers, rounded to six decimals: so what is read is what was checked.
    numbers = np.round(mesh.vertices, 6).ravel().tolist()
    corners = ('<vertex x="%.9g" y="%.9g" z="%.9g"/>\n' * len(mesh.vertices)) % tuple(numbers)
    indices = mesh.faces.ravel().tolist()
    facets = ('<triangle v1="%d" v2="%d" v3="%d"/>\n' * len(mesh.faces)) % tuple(indices)
    return f"<vertices>\n{corners}</vertices>\n<triangles>\n{facets}</triangles>\n"


def _quoted(text: str) -> str:
    return quoteattr(_NOT_XML.sub("\ufffd", text))


def _escaped(text: str) -> str:
    plain = _NOT_XML.sub("\ufffd", text)
    return plain.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
