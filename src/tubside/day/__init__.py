"""Whom to visit when: the orders of a working day, what they cost, and who may be kept waiting."""
