"""The terminal face: Textual screens over the desk and the views. No SQL, no rules."""
