"""The one place that states the version; pyproject.toml reads it from here."""

__all__ = ["__version__"]

__version__ = "0.1.0"
