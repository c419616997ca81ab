"""The suggest room."""
