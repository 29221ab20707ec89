"""What can be wrong with a propeller: each check looks at the evidence and answers in findings."""
