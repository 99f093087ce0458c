"""Drawings and data that leave the desk for the workshop."""
