"""Anchor Drill, the service: players, time, sessions, the store and the pages.

The music comes from :mod:`cards`. Nothing here computes a note.
"""
