"""What leaves the program: meshes, 3MF, papers and pictures, written whole or not at all."""

from splitplanner.output.mesh_files import stl_bytes
from splitplanner.output.pictures import exploded, part_with_cuts, piece_colours, piece_on_bed
from splitplanner.output.printable import PrintableMesh, printable_mesh
from splitplanner.output.scene import (
    BedFrame,
    Body,
    Camera,
    Label,
    Line,
    Scene,
    Sheet,
)
from splitplanner.output.three_mf import BuildItem, on_beds, three_mf_bytes
from splitplanner.output.writing import whole_folder, write_file

__all__ = [
    "BedFrame",
    "Body",
    "BuildItem",
    "Camera",
    "Label",
    "Line",
    "PrintableMesh",
    "Scene",
    "Sheet",
    "exploded",
    "on_beds",
    "part_with_cuts",
    "piece_colours",
    "piece_on_bed",
    "printable_mesh",
    "stl_bytes",
    "three_mf_bytes",
    "whole_folder",
    "write_file",
]
