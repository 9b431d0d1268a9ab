"""Demo data: a simulated guitarist and the house band."""
