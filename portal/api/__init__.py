"""The API: the instant answer for anyone, a customer's own orders when signed in."""
