"""Read, check and compile the knowledge of a family."""
