"""Players and what they have set."""
