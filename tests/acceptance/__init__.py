"""Shop days lived through by key presses in the real app."""
