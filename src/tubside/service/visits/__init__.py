"""The working day of the shop: who goes where, told from the facts of its jobs."""
