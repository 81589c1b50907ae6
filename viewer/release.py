"""The version of this package: its one home, and importable without the rest."""

__version__ = "0.8.0"
