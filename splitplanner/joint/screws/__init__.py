"""Screws: sizes, seats that can be reached, and what is wrong with them."""
