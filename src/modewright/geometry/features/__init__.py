"""What is cut into a blank or fixed to it: one file per kind."""
