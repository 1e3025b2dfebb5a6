"""The front of one model: read it, draw it, and match what a person saw on it."""
