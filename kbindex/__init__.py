"""Search and count a repair shop's own recordings and notes."""

__version__ = "0.1.0"
