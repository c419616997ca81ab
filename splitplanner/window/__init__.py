"""The desktop program: the only room that imports Qt."""
