"""The loop around the modes: plant, observer, regulators, margins and authority."""
