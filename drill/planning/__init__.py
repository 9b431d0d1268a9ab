"""Which cards come now: what may be asked, what a second on a card is worth, and the plan."""
