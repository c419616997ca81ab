"""The viewport room."""
