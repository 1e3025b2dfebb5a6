"""Electrics of a machine: copper, coils, heaters, sensors, capacitors, insulation, mains."""
