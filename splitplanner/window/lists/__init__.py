"""Lists and tables beside the view."""
