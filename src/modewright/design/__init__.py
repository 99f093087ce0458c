"""The design file: what it may contain, how it is read, completed and written."""
