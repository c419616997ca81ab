"""The score room."""
