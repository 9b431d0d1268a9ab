"""Values from outside, and how they are refused."""
