"""From what a phone stores of a pixel to light."""

from __future__ import annotations

import numpy as np

GAMMA = 2.2
"""Phones store light to about the power 1/2.2 (sRGB, ITU-R BT.709; rounded)."""
LIGHT = ((np.arange(256) / 255.0) ** GAMMA).astype(np.float32)
