"""Design, hear and make instruments whose every note is a controlled vibrating body."""

__version__ = "0.1.0"
