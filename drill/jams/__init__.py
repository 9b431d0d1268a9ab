"""Jams: nights, set lists, readiness, and what sessions until then are aimed at."""
