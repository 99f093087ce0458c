"""Printed boards that carry pickup plates: copper, holes, outline, rules, and files."""
