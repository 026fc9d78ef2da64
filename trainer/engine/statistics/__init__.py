"""Statistics for instructors: standards, agreement, reliability, items, rejects.

Each result carries its own ``warnings``: sentences on what it cannot bear, most often because there
are few people, attempts or judges.
"""
