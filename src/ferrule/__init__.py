"""Ferrule: the parts list of a hardware product as plain text in git, and the command that makes it answer."""
