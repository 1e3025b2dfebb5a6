"""The customer's own check: the safe part of finding a trouble, before anybody drives."""
