"""Services: one function, one transaction; the only place that writes rows of the quoting application."""
