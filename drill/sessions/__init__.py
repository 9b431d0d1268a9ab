"""Sessions: questions, answers, pacing, and how a session went."""
