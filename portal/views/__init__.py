"""The customers' pages: each view parses, calls one service, renders."""
