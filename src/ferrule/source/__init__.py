"""Where bytes come from and go to: the work tree, the index, any revision; files written whole.

Reading never writes, not even git's index. What is read is a `Snapshot`, the same whatever it came from.
"""
