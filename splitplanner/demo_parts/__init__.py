"""The demo_parts room."""
