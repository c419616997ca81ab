"""What the user owns: printers, materials, hardware."""

from splitplanner.workshop.allowances import (
    Allowances,
    allowance_at,
    check_allowances,
    with_measured,
)
from splitplanner.workshop.entries import nominal_diameter
from splitplanner.workshop.hardware import DowelPin, dowel_pins, stock_length
from splitplanner.workshop.laminates import (
    FIBRE_DENSITY,
    RESIN_DENSITY,
    fibre_density,
    ply_thickness,
    resin_weight,
)
from splitplanner.workshop.material import (
    Material,
    example_material,
    generic_materials,
    known_material,
    overhang_words,
    printing_with,
)
from splitplanner.workshop.own import (
    Kept,
    KeptShelf,
    drop_material,
    drop_printer,
    generic_printers,
    keep_material,
    keep_printer,
    own_materials,
    own_printers,
    own_shelf,
    read_material,
    usual_folder,
)
from splitplanner.workshop.printer import Bed, Printer, read_printer
from splitplanner.workshop.screws import FormingScrew, HexDriver, HexKey, ScrewType, screw_length
from splitplanner.workshop.sheet_metals import SheetMetal
from splitplanner.workshop.shelf import Shelf, hardware_shelf
from splitplanner.workshop.threads import Insert, Nut, Thread, Washer

__all__ = [
    "FIBRE_DENSITY",
    "RESIN_DENSITY",
    "Allowances",
    "Bed",
    "DowelPin",
    "FormingScrew",
    "HexDriver",
    "HexKey",
    "Insert",
    "Kept",
    "KeptShelf",
    "Material",
    "Nut",
    "Printer",
    "ScrewType",
    "SheetMetal",
    "Shelf",
    "Thread",
    "Washer",
    "allowance_at",
    "check_allowances",
    "dowel_pins",
    "drop_material",
    "drop_printer",
    "example_material",
    "fibre_density",
    "generic_materials",
    "generic_printers",
    "hardware_shelf",
    "keep_material",
    "keep_printer",
    "known_material",
    "nominal_diameter",
    "overhang_words",
    "own_materials",
    "own_printers",
    "own_shelf",
    "ply_thickness",
    "printing_with",
    "read_material",
    "read_printer",
    "resin_weight",
    "screw_length",
    "stock_length",
    "usual_folder",
    "with_measured",
]
