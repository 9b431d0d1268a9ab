"""From the log to memory: what a review teaches, and the parameters fitted to a log."""
