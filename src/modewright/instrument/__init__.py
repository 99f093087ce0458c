"""Many notes on one base: scale, layout, sheet, what they do to each other, budgets."""
