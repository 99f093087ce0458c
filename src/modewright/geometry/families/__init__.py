"""Families of resonators: one file each, with its parameters and its outline."""
