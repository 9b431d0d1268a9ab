"""Voicings: the search, the main voicing, small voicings, ways through a progression."""
