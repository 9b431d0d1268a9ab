"""Which cards to ask now: which may be asked, what a second spent on each is worth, and the plan."""
