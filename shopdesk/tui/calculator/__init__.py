"""The calculator: a list of all calculations, and a form whose result lives as one types."""
