"""Pure, cited formulas of water, heat, level, spin, suspension, suds, wash and electrics."""
