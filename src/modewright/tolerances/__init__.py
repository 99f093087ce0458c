"""How far a made body may be off: tolerances, their distributions, samples of them."""
