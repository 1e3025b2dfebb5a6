"""Units at the edge: what people write is read here, inside everything is SI."""
