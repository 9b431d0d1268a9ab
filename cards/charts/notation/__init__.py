"""Reads each way of writing a chart into marks."""
