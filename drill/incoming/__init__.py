"""Reading values from outside, and refusing them."""
