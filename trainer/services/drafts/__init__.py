"""Files of instructors while they are being written: text, places, changes, fields, faults."""
