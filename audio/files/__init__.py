"""Bytes on disk: what to try, decoding, encoding, tags, whole files."""
