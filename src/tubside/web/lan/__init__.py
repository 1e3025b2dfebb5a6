"""Serving phones in the same house or shop: addresses, certificates, and how to trust them."""
