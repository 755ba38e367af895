"""Checks that yield findings."""
