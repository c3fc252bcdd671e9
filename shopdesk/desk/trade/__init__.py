"""In and out: parts, lots, suppliers and prices from other people's files, and back to them."""
