"""Looking at what a run recorded: slices, grey values, marks."""
