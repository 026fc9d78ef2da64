"""Skin, airway, inner ear, glands, neck and shoulders."""
