"""What attempts say: of one learner over time, of a group, of a panel; what to practise next."""
