"""The version of the computation: stored with every quote, raised whenever a figure can change."""

MODEL_VERSION = "1.2"
