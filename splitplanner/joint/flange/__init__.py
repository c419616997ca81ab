"""Flanges: internal rims along the hidden side of seams."""
