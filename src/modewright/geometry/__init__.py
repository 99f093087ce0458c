"""Bodies before they are meshed: outlines, features, supports, and the files they come from."""
