"""The self-help guide of a shop: a static site for its customers, without server or script."""
