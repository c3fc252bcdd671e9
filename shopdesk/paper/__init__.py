"""What the shop prints: PDF for paper, plain text for terminals, from the same facts."""
