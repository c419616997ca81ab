"""The joint room."""
