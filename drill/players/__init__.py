"""Players and their settings."""
