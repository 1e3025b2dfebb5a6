"""Money in whole cents, its rounding, and the taxes of the countries."""
