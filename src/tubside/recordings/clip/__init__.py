"""Lamps on a phone's clip: decoding, following the panel, measuring and redrawing lamps."""
