"""One function a command: paths and options in, a dataclass out; prints nothing."""
