"""The neck, anchor regions, fingers and shapes."""
