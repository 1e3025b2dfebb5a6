"""A simulated machine: parameters, cycle, the conditions its controller notices, readings."""
