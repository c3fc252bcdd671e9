"""Questions in plain words, at a terminal, from a pipe or from a file of answers."""
