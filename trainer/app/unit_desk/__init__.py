"""Describing a unit: its numbers, its drawing, and what cannot be."""
