"""What is wrong with a product, as values: findings, the rules that yield them, waivers, fingerprints.

Nothing here prints, reads a file or knows the date; `render` turns findings into text.
"""
