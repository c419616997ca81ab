"""Pins and screws together: where they go, and their distances."""
