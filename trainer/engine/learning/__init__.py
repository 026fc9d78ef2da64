"""Learning over time: charts of successes, curves, practice sets, what to practise next."""
