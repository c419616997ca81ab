"""What a 3MF file holds, read by lib3mf, the 3MF Consortium's own reader, in strict mode."""

import lib3mf
import numpy as np
import shapely
import trimesh


def model_of(data):
    """What lib3mf reads in strict mode, where every warning is an error."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(data)
    assert [reader.GetWarning(index) for index in range(reader.GetWarningCount())] == []
    return model


def entries(iterator, current):
    found = []
    while iterator.MoveNext():
        found.append(getattr(iterator, current)())
    return found


def placed(model):
    """Name -> mesh as lib3mf has it on the bed."""
    result = {}
    for item in entries(model.GetBuildItems(), "GetCurrent"):
        thing = item.GetObjectResource()
        shape = model.GetMeshObjectByID(thing.GetResourceID())
        vertices = np.array([list(vertex.Coordinates) for vertex in shape.GetVertices()])
        faces = np.array([list(triangle.Indices) for triangle in shape.GetTriangleIndices()])
        fields = np.array([list(row) for row in item.GetObjectTransform().Fields])
        moved = vertices @ fields[:3] + fields[3]
        result[thing.GetName()] = trimesh.Trimesh(moved, faces, process=False)
    return result


def read(data):
    """Name -> mesh as lib3mf places it."""
    return placed(model_of(data))


def shadow(mesh):
    """What a mesh covers of the bed: all its triangles seen from above, joined by shapely."""
    triangles = shapely.polygons(np.asarray(mesh.vertices)[mesh.faces][:, :, :2])
    return shapely.union_all(triangles[shapely.area(triangles) > 1e-9], grid_size=1e-6)
