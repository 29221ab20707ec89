"""What a propeller is and whether it is sound: pure computation in SI, no Django, no clock, no files but own tables."""
