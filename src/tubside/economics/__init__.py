"""Whether a machine is worth repairing: money over time, lives, running cost."""
