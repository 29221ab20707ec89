"""What a propeller costs: minutes, take-off and price lines that sum exactly; pure computation."""
