"""Pictures drawn: the same look as SVG for pages and as plain text for terminals and pipes.

The look is our own. Elements are told apart by a letter and a pattern, lines by their name and dashes, never
by hue; names and values come from `report.picture` and are harmless text here.
"""
