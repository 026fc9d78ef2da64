"""The desk at which instructors write cases."""
