"""Dowel pins: sizes, places, keying, and what is wrong with them."""
