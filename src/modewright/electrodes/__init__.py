"""Outlines of pickup plates that hear some modes and not others."""
