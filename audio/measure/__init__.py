"""Samples into numbers, a module a quantity."""
