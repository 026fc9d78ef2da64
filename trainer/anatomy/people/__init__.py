"""Who a person is in figures: landmarks, growth, spreads, and the map from the mean man's head."""
