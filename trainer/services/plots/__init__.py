"""Plots of learning: matplotlib figures, legible in black and white, with their caution."""
