"""Skull, jaws with canal and ridges, spine."""
