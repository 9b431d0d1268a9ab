"""Tunes, kept as charts, and files of them."""
