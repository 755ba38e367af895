"""Files into numbers and numbers into files; knows nothing of classes."""
