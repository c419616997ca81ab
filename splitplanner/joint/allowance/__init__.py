"""Pieces as files have them: larger by what they shrink, chamfered where they lie on the bed."""
