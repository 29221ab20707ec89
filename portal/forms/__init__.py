"""The customers' forms."""
