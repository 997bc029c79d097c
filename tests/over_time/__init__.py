"""A remodel over time: a plain model of stock and orders, and random histories that drive it."""
