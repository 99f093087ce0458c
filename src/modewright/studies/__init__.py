"""Many bodies of one design: what tolerances and temperature do to it."""
