"""The recall model: what a player knows, as values. Nothing here reads a clock or a database."""
