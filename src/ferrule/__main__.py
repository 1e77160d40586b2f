"""``python -m ferrule`` is the command ``ferrule``."""

from ferrule.cli.main import run

run()
