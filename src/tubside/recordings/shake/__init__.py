"""Bounces, damping and run-up of a tub, from a phone's log of its shaking."""
