"""How a player stands and how practice went: the key map, the reasons, the weeks."""
