"""Jams: nights, set lists, readiness, and the goals of sessions until then."""
