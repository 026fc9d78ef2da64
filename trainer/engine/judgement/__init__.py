"""What an attempt earns: points by blocks, what nothing makes up for, and what was predicted.

The program scores its own checklist and measures. A supervisor's global rating is never an input
here, and nothing here is ever turned into one: each would make the other worthless as a check.
"""
