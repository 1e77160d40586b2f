"""One module a rule, named for the fault. The docstring is the page a user reads with `ferrule explain`."""
