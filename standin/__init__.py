"""A local card provider for the demo and the tests: its own process, speaking the real provider's protocol."""
