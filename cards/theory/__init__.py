"""Notes, chords, keys and degrees."""
