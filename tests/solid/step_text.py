"""Writes plain bodies as STEP files (ISO 10303-21, AP214, advanced boundary representation)."""

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
    return _text(lines, faces, unit)


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


class _Round(_Lines):
    """What round bodies are put together from."""

    def vertex(self, point):
        return self.add(f"VERTEX_POINT('',{self.numbers('CARTESIAN_POINT', point)})")

    def circle(self, start, end, centre, normal, along, radius):
        circle = self.add(f"CIRCLE('',{_axes(self, centre, normal, along)},{float(radius):.9E})")
        return self.add(f"EDGE_CURVE('',{start},{end},{circle},.T.)")

    def face(self, surface, *edges):
        """A face within edges, those that are passed backwards written with a minus."""
        around = [
            self.add(f"ORIENTED_EDGE('',*,*,{edge.lstrip('-')},.{'F' if edge[0] == '-' else 'T'}.)")
            for edge in edges
        ]
        loop = self.add(f"EDGE_LOOP('',({','.join(around)}))")
        bound = self.add(f"FACE_OUTER_BOUND('',{loop},.T.)")
        return self.add(f"ADVANCED_FACE('',({bound}),{surface},.T.)")

    def surface(self, kind, *sizes, at=(0, 0, 0), normal=(0, 0, 1)):
        lengths = "".join(f",{float(size):.9E}" for size in sizes)
        return self.add(f"{kind}('',{_axes(self, at, normal, (1, 0, 0))}{lengths})")


def cylinder_as_step(radius, height):
    """Text of a STEP file with a cylinder that stands on the origin."""
    lines = _Round()
    foot, head = lines.vertex((radius, 0, 0)), lines.vertex((radius, 0, height))
    low = lines.circle(foot, foot, (0, 0, 0), (0, 0, 1), (1, 0, 0), radius)
    high = lines.circle(head, head, (0, 0, height), (0, 0, 1), (1, 0, 0), radius)
    up = lines.numbers("DIRECTION", (0, 0, 1))
    vector = lines.add(f"VECTOR('',{up},1.)")
    line = lines.add(f"LINE('',{lines.numbers('CARTESIAN_POINT', (radius, 0, 0))},{vector})")
    seam = lines.add(f"EDGE_CURVE('',{foot},{head},{line},.T.)")
    wall = lines.surface("CYLINDRICAL_SURFACE", radius)
    top = lines.surface("PLANE", at=(0, 0, height))
    bottom = lines.surface("PLANE", normal=(0, 0, -1))
    faces = [
        lines.face(wall, low, seam, f"-{high}", f"-{seam}"),
        lines.face(top, high),
        lines.face(bottom, f"-{low}"),
    ]
    return _text(lines, faces)


def torus_as_step(ring, tube):
    """Text of a STEP file with a torus round the z axis."""
    lines = _Round()
    seam = lines.vertex((ring + tube, 0, 0))
    around = lines.circle(seam, seam, (0, 0, 0), (0, 0, 1), (1, 0, 0), ring + tube)
    across = lines.circle(seam, seam, (ring, 0, 0), (0, -1, 0), (1, 0, 0), tube)
    surface = lines.surface("TOROIDAL_SURFACE", ring, tube)
    return _text(lines, [lines.face(surface, around, across, f"-{around}", f"-{across}")])


def ball_as_step(radius):
    """Text of a STEP file with a ball round the origin."""
    lines = _Round()
    south, north = lines.vertex((0, 0, -radius)), lines.vertex((0, 0, radius))
    meridian = lines.circle(south, north, (0, 0, 0), (0, -1, 0), (1, 0, 0), radius)
    surface = lines.surface("SPHERICAL_SURFACE", radius)
    return _text(lines, [lines.face(surface, meridian, f"-{meridian}")])


def _text(lines, faces, unit="mm"):
    shell = lines.add(f"CLOSED_SHELL('',({','.join(faces)}))")
    solid = lines.add(f"MANIFOLD_SOLID_BREP('',{shell})")
    context = _context(lines, unit)
    place = _axes(lines, (0, 0, 0), (0, 0, 1), (1, 0, 0))
    shape = lines.add(f"ADVANCED_BREP_SHAPE_REPRESENTATION('',({place},{solid}),{context})")
    _product(lines, shape)
    body = "".join(f"#{number}={row};\n" for number, row in enumerate(lines.rows, 1))
    return _HEAD + body + "ENDSEC;\nEND-ISO-10303-21;\n"
