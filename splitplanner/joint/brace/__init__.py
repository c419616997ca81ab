"""Braces: stiff strips over several pieces, what they seat on, and the bolts that hold them."""
