"""Materials of the trade, each number with its source and spread."""
