"""Anchor Drill, the service: players, time, sessions, the store and the pages.

The music comes from :mod:`cards`; nothing here computes a note.
"""
