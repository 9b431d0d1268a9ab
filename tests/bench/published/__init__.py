"""Published models of memory and ways to choose what to practise, each written from its paper."""
