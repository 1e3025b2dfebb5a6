"""What a phone's recording of a machine tells: so far, lamps from a clip."""
