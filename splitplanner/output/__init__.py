"""The output room."""
