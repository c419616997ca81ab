"""The station chart below the view."""
