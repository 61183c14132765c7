"""Lines on paper: which share a page, where it is turned, what stands around them, and cuttings."""
