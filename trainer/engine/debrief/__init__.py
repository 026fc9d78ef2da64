"""The debrief of an attempt: what to tell, what would have helped, and what happened when."""
