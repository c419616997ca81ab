"""What leaves the program: meshes, 3MF, papers and pictures, written whole or not at all."""

from __future__ import annotations

import typing

from splitplanner.lazy_names import lazy_names

if typing.TYPE_CHECKING:
    from splitplanner.output.beds import bed_file_name, bed_three_mf, beds_of
    from splitplanner.output.camera import Camera
    from splitplanner.output.cautions import CAUTIONS, cautions_of
    from splitplanner.output.csv_records import scorecard_csv
    from splitplanner.output.folder import write_result
    from splitplanner.output.mesh_files import save_stl, stl_bytes
    from splitplanner.output.parts_list import (
        NeededBrace,
        NeededHardware,
        NeededPart,
        NeededTape,
        PartsList,
        list_parts,
        needed_parts,
    )
    from splitplanner.output.pictures import (
        bed_frame,
        exploded,
        part_with_cuts,
        piece_colours,
        piece_on_bed,
        pulled_apart,
    )
    from splitplanner.output.print_sheet import print_sheet_text
    from splitplanner.output.printable import PrintableMesh, printable_mesh
    from splitplanner.output.records import (
        proposal_record,
        score_record,
        scorecard_json,
        scorecard_record,
    )
    from splitplanner.output.result import AssemblyStep, Result, piece_file_name
    from splitplanner.output.scene import (
        OKABE_ITO,
        BedFrame,
        Body,
        Label,
        Line,
        Scene,
        Sheet,
        view_frame,
    )
    from splitplanner.output.strength_records import strength_record
    from splitplanner.output.strength_tables import strength_blocks
    from splitplanner.output.tables import (
        WIDTH,
        findings_table,
        plain_text,
        proposals_table,
        scorecard_tables,
        scorecard_text,
    )
    from splitplanner.output.three_mf import BuildItem, on_beds, on_one_bed, three_mf_bytes
    from splitplanner.output.writing import refuse_target, whole_folder, write_file

__all__ = [
    "CAUTIONS",
    "OKABE_ITO",
    "WIDTH",
    "AssemblyStep",
    "BedFrame",
    "Body",
    "BuildItem",
    "Camera",
    "Label",
    "Line",
    "NeededBrace",
    "NeededHardware",
    "NeededPart",
    "NeededTape",
    "PartsList",
    "PrintableMesh",
    "Result",
    "Scene",
    "Sheet",
    "bed_file_name",
    "bed_frame",
    "bed_three_mf",
    "beds_of",
    "cautions_of",
    "exploded",
    "findings_table",
    "list_parts",
    "needed_parts",
    "on_beds",
    "on_one_bed",
    "part_with_cuts",
    "piece_colours",
    "piece_file_name",
    "piece_on_bed",
    "plain_text",
    "print_sheet_text",
    "printable_mesh",
    "proposal_record",
    "proposals_table",
    "pulled_apart",
    "refuse_target",
    "save_stl",
    "score_record",
    "scorecard_csv",
    "scorecard_json",
    "scorecard_record",
    "scorecard_tables",
    "scorecard_text",
    "stl_bytes",
    "strength_blocks",
    "strength_record",
    "three_mf_bytes",
    "view_frame",
    "whole_folder",
    "write_file",
    "write_result",
]

__getattr__ = lazy_names(
    __name__,
    {
        "beds": ["bed_file_name", "bed_three_mf", "beds_of"],
        "cautions": ["CAUTIONS", "cautions_of"],
        "camera": ["Camera"],
        "csv_records": ["scorecard_csv"],
        "folder": ["write_result"],
        "mesh_files": ["save_stl", "stl_bytes"],
        "parts_list": [
            "NeededBrace",
            "NeededHardware",
            "NeededPart",
            "NeededTape",
            "PartsList",
            "list_parts",
            "needed_parts",
        ],
        "pictures": [
            "bed_frame",
            "exploded",
            "part_with_cuts",
            "piece_colours",
            "piece_on_bed",
            "pulled_apart",
        ],
        "print_sheet": ["print_sheet_text"],
        "printable": ["PrintableMesh", "printable_mesh"],
        "records": [
            "proposal_record",
            "score_record",
            "scorecard_json",
            "scorecard_record",
        ],
        "result": ["AssemblyStep", "Result", "piece_file_name"],
        "scene": ["OKABE_ITO", "BedFrame", "Body", "Label", "Line", "Scene", "Sheet", "view_frame"],
        "tables": [
            "WIDTH",
            "findings_table",
            "plain_text",
            "proposals_table",
            "scorecard_tables",
            "scorecard_text",
        ],
        "strength_records": ["strength_record"],
        "strength_tables": ["strength_blocks"],
        "three_mf": ["BuildItem", "on_beds", "on_one_bed", "three_mf_bytes"],
        "writing": ["refuse_target", "whole_folder", "write_file"],
    },
)
