"""Packs: cases with their units, rules and texts in one file, made here and taken in here.

Whatever comes from outside is mistrusted. `members` reads an archive or folder within limits,
`names` judges what its files are called, `manifest` says what shall be in it, `check` looks into
every file, and only `take_in` writes, whole or not at all.
"""
