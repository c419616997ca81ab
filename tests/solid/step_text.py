"""Writes a box as a STEP file (ISO 10303-21, AP214 with an advanced boundary representation)."""

from __future__ import annotations

_HEAD = """ISO-10303-21;
HEADER;
FILE_DESCRIPTION((''),'2;1');
FILE_NAME('box','2024-01-01T00:00:00',(''),(''),'','','');
FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));
ENDSEC;
DATA;
"""

# Corners of each face, counter-clockwise from outside, and its outward normal and an axis in it.
_FACES = [
    ((0, 3, 2, 1), (0, 0, -1), (1, 0, 0)),
    ((4, 5, 6, 7), (0, 0, 1), (1, 0, 0)),
    ((0, 1, 5, 4), (0, -1, 0), (1, 0, 0)),
    ((2, 3, 7, 6), (0, 1, 0), (1, 0, 0)),
    ((1, 2, 6, 5), (1, 0, 0), (0, 1, 0)),
    ((3, 0, 4, 7), (-1, 0, 0), (0, 1, 0)),
]


class _Lines:
    def __init__(self):
        self.rows = []

    def add(self, text):
        self.rows.append(text)
        return f"#{len(self.rows)}"

    def numbers(self, kind, values):
        return self.add(f"{kind}('',({','.join(f'{float(v):.9E}' for v in values)}))")


def box_as_step(size, corner, unit="mm"):
    """Text of a STEP file with one box; `unit` is mm, m or inch."""
    lines = _Lines()
    x, y, z = corner
    u, v, w = size
    low = [(x, y), (x + u, y), (x + u, y + v), (x, y + v)]
    points = [(*at, z) for at in low] + [(*at, z + w) for at in low]
    vertices = [
        lines.add(f"VERTEX_POINT('',{lines.numbers('CARTESIAN_POINT', point)})") for point in points
    ]
    edges = {}
    faces = [_face(lines, points, vertices, edges, *face) for face in _FACES]
    shell = lines.add(f"CLOSED_SHELL('',({','.join(faces)}))")
    solid = lines.add(f"MANIFOLD_SOLID_BREP('',{shell})")
    context = _context(lines, unit)
    place = _axes(lines, (0, 0, 0), (0, 0, 1), (1, 0, 0))
    shape = lines.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({place},{solid}),{context})")
    _product(lines, shape)
    body = "".join(f"#{number}={row};\n" for number, row in enumerate(lines.rows, 1))
    return _HEAD + body + "ENDSEC;\nEND-ISO-10303-21;\n"


def _axes(lines, at, normal, along):
    origin = lines.numbers("CARTESIAN_POINT", at)
    up, side = lines.numbers("DIRECTION", normal), lines.numbers("DIRECTION", along)
    return lines.add(f"AXIS2_PLACEMENT_3D('',{origin},{up},{side})")


def _edge(lines, points, vertices, edges, start, end):
    low, high = min(start, end), max(start, end)
    if (low, high) not in edges:
        step = [b - a for a, b in zip(points[low], points[high], strict=True)]
        length = sum(abs(s) for s in step)
        direction = lines.numbers("DIRECTION", [s / length for s in step])
        vector = lines.add(f"VECTOR('',{direction},1.)")
        origin = lines.numbers("CARTESIAN_POINT", points[low])
        line = lines.add(f"LINE('',{origin},{vector})")
        edges[low, high] = lines.add(f"EDGE_CURVE('',{vertices[low]},{vertices[high]},{line},.T.)")
    forward = ".T." if start == low else ".F."
    return lines.add(f"ORIENTED_EDGE('',*,*,{edges[low, high]},{forward})")


def _face(lines, points, vertices, edges, ring, normal, along):
    around = [
        _edge(lines, points, vertices, edges, start, end)
        for start, end in zip(ring, (*ring[1:], ring[0]), strict=True)
    ]
    loop = lines.add(f"EDGE_LOOP('',({','.join(around)}))")
    bound = lines.add(f"FACE_OUTER_BOUND('',{loop},.T.)")
    plane = lines.add(f"PLANE('',{_axes(lines, points[ring[0]], normal, along)})")
    return lines.add(f"ADVANCED_FACE('',({bound}),{plane},.T.)")


def _context(lines, unit):
    prefix = {"mm": ".MILLI.", "m": "$", "inch": ".MILLI."}[unit]
    length = lines.add(f"(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT({prefix},.METRE.))")
    if unit == "inch":
        measure = lines.add(f"LENGTH_MEASURE_WITH_UNIT(LENGTH_MEASURE(25.4),{length})")
        powers = lines.add("DIMENSIONAL_EXPONENTS(1.,0.,0.,0.,0.,0.,0.)")
        length = lines.add(
            f"(CONVERSION_BASED_UNIT('INCH',{measure})LENGTH_UNIT()NAMED_UNIT({powers}))"
        )
    angle = lines.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
    solid_angle = lines.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
    fine = lines.add(
        f"UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(1.E-07),{length},'distance','')"
    )
    return lines.add(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)"
        f"GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT(({fine}))"
        f"GLOBAL_UNIT_ASSIGNED_CONTEXT(({length},{angle},{solid_angle}))"
        "REPRESENTATION_CONTEXT('',''))"
    )


def _product(lines, shape):
    application = lines.add("APPLICATION_CONTEXT('automotive design')")
    lines.add(
        "APPLICATION_PROTOCOL_DEFINITION('international standard',"
        f"'automotive_design',2000,{application})"
    )
    context = lines.add(f"PRODUCT_CONTEXT('',{application},'mechanical')")
    product = lines.add(f"PRODUCT('box','box','',({context}))")
    version = lines.add(f"PRODUCT_DEFINITION_FORMATION('','',{product})")
    design = lines.add(f"PRODUCT_DEFINITION_CONTEXT('part definition',{application},'design')")
    definition = lines.add(f"PRODUCT_DEFINITION('design','',{version},{design})")
    described = lines.add(f"PRODUCT_DEFINITION_SHAPE('','',{definition})")
    lines.add(f"SHAPE_DEFINITION_REPRESENTATION({described},{shape})")
