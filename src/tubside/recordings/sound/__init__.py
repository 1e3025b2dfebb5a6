"""Notes and pulses, spin speed, pump and bearings, from the sound of a recording."""
