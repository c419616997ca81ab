"""What the user owns: printers, materials, hardware."""

from splitplanner.workshop.printer import Bed, Printer, read_printer

__all__ = ["Bed", "Printer", "read_printer"]
