"""What a chart means: bars, the key, degrees."""
