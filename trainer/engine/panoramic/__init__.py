"""Panoramic pictures: how a head stands in the sharp layer, and what that shows."""
