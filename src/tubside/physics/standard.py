"""Constants that a standard fixes: gravity, the standard atmosphere, the water of Kv."""

from __future__ import annotations

STANDARD_GRAVITY = 9.80665
"""[m/s2], exact: 3rd General Conference on Weights and Measures, 1901."""

ATMOSPHERE = 101_325.0
"""[Pa], exact: 10th General Conference on Weights and Measures, 1954, resolution 4."""

ICE_POINT = 273.15
"""0 degrees Celsius [K], exact by the definition of the Celsius scale."""

DENSITY_15 = 999.103
"""Density of water at 15 C [kg/m3], to which Kv is referred: IEC 60534-2-1, rho_0."""
