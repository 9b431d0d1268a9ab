"""Everything of a player as one file, and back."""
