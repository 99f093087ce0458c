"""Inverse design below the design file: what is wanted, and the search that finds it."""
