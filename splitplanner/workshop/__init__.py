"""What the user owns: printers, materials, hardware."""

from splitplanner.workshop.hardware import DowelPin, dowel_pins, stock_length
from splitplanner.workshop.material import Material, generic_materials
from splitplanner.workshop.own import (
    Kept,
    drop_material,
    drop_printer,
    generic_printers,
    keep_material,
    keep_printer,
    own_materials,
    own_printers,
    read_material,
    usual_folder,
)
from splitplanner.workshop.printer import Bed, Printer, read_printer

__all__ = [
    "Bed",
    "DowelPin",
    "Kept",
    "Material",
    "Printer",
    "dowel_pins",
    "drop_material",
    "drop_printer",
    "generic_materials",
    "generic_printers",
    "keep_material",
    "keep_printer",
    "own_materials",
    "own_printers",
    "read_material",
    "read_printer",
    "stock_length",
    "usual_folder",
]
