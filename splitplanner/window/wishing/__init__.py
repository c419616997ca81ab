"""What the user wishes of proposals, and painting it on the part."""
