"""Turns marks into a chart: finds the bars, the key and the numerals."""
