"""In which order the pieces go together."""
