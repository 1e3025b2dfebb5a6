"""What the shop's own closed jobs teach, shown, taken into its layer, or left."""
