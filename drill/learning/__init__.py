"""From the log to memory: what a review teaches, and the parameters that are fitted to a log."""
