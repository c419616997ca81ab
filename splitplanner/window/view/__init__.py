"""The view in the middle: what it shows, and what the mouse and the keys do in it."""
