"""The lines of a note in order -> the sections of a plan."""
