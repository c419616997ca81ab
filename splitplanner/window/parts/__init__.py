"""Small widgets that several rooms of the window use."""
