"""Plan to seconds, METs and the arc."""
