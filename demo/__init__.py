"""The demonstration: an invented workshop built through the real services, and a walk along the whole path."""
