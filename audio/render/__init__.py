"""Spans of tracks into one stream."""
