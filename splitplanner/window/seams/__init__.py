"""The plan of one seam, in which pins are moved by hand."""
