"""Whether a unit described by numbers could work: every doubt in a sentence, with its keys."""
