"""Simulated calls that judge every policy."""
