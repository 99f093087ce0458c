"""The whole job as pure functions, one after the other: body, hearing and pushing, loop."""
