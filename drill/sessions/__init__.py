"""Sessions: their questions, their answers, how they keep to their time, and their summary at the end."""
