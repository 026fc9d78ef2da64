"""Teeth: sizes, forms, arches, bite, eruption and what still lies in the bone."""
