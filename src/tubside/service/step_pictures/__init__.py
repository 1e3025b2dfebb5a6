"""One drawn picture for each step that a customer does alone: what to look at, what to do."""
