"""Music theory: notes, chords, keys and numerals."""
