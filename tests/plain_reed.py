"""A clamped strip as the shortest design file."""

PLAIN_REED = """
[material]
name = "stainless 301"
[stock]
thickness = "0.35 mm"
[resonator]
kind = "strip reed"
length = "30 mm"
width = "6 mm"
[support]
kind = "clamped"
"""
