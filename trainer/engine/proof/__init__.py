"""Proof of a case: whether it can be solved, how much play it leaves, how often scatter spoils it.

``target`` evaluates many setups at once; ``limits`` says what unit and person can do; ``best``
finds the best setup and the fields that would do; ``play`` the free play of every control;
``scatter`` and ``success`` the probability that scattered placings hold everything; ``proof`` puts
it together.
"""
