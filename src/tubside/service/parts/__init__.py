"""The shop's own parts: articles, prices, places, and what to load and to order."""
