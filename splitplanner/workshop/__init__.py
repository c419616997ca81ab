"""What the user owns: printers, materials, hardware."""

from splitplanner.workshop.hardware import DowelPin, dowel_pins, stock_length
from splitplanner.workshop.printer import Bed, Printer, read_printer

__all__ = ["Bed", "DowelPin", "Printer", "dowel_pins", "read_printer", "stock_length"]
