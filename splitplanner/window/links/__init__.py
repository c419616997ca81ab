"""What connects the widgets with the session: they know nothing of each other."""
