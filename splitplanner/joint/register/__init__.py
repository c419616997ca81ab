"""Registers: forms in a seam that keep its pieces in line."""
