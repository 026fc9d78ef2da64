"""Profiles in the window: sign in, lock, hand over, progress, what is kept and taken out."""
