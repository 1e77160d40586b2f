"""Results in, characters out. The only room that knows how anything looks.

Text from files is cleaned here, once, before it reaches a terminal, a log, a page or a data format.
"""
