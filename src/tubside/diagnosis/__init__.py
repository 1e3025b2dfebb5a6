"""The heart: belief over sets of causes, and the next step by money."""
