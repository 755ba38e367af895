"""What a person sees: picture, sheet, playlist, terminal, JSON."""
