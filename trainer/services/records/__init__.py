"""What is kept of learners: people, attempts, supervised work; stored, verified, taken out, erased.

One database (a file in a folder, or a school's server) and, beside it, a folder with the logs of
attempts under way. ``store`` opens it; ``learners`` are its people and their PINs; ``verify`` finds
what was changed behind the program's back.
"""
