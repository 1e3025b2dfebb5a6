"""What to load for a day, and what to carry always."""
