"""Holes for pins and screws, as solids, and what is wrong with them."""
