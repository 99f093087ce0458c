"""The controller on a microcontroller: C source that it shares with the real-time core."""
