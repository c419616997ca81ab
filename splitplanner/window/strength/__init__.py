"""What a plan has to stand, what it stands, and its braces: widgets of the tab Strength."""
