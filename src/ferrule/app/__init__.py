"""One module a command: bytes from `source`, a product from `load`, an answer from `compute`.

A use case returns a value; it prints nothing and knows no option parser.
"""
