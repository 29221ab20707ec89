"""The version of the formulas of minutes, take-off and price: raised whenever the same input gives another price."""

PRICING_VERSION = "1"
