"""Stores: the shelf, deliveries, what to order."""
