"""Names of what lies in a shop's data folder, for whoever opens no database."""

from __future__ import annotations

DATABASE = "tubside.sqlite"
MODELS = "models"
LAYERS = "layers"
