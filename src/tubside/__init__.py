"""Tubside: from what a laundry machine shows to the next best step, in money."""

__version__ = "0.1.0"
