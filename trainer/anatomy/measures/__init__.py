"""Measures taken on a built head, beside published norms."""
