"""Moving pictures and stills of the models that a shop knows."""
