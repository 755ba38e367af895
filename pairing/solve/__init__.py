"""The optimiser: arrays in, order and trims out; no names, files or screen."""
