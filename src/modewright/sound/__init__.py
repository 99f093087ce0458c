"""From a loop and a score to samples: the real-time core and what surrounds it."""
