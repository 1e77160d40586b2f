"""Bytes in, a product and findings out.

This room reads TOML, checks its shape, and builds the model; it opens no file, and a bad file yields
findings about itself while the rest of the product is still read. Positions are looked up only for
files that have findings.
"""
