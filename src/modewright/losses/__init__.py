"""Damping of each mode, one mechanism per file, never one constant for all."""
