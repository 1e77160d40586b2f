"""Arithmetic over the model: pure functions, exact numbers, no text for people, no dates of their own."""
