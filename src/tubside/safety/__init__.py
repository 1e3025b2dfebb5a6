"""Proving a machine safe after a repair: what a country asks, what was read, what follows.

Nothing here replaces local codes and licensed practice: they decide.
"""
