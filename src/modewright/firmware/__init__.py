"""The controller on a microcontroller: C source that the real-time core shares with the instrument."""
