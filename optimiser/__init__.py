"""Re-formulate skin and hair care by computation."""

__version__ = "0.1.0"
