"""A freeze killed at any moment leaves nothing, or a freeze that verifies; the same command again finishes it."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from ferrule.app.freezing import Request, freeze
from ferrule.app.verifying import verify
from ferrule.errors import FerruleError
from ferrule.model.when import parse_when
from ferrule.source.products import open_products
from frozen_builders import TODAY, frozen_repository
from git_builders import Repository

TAG, LOCK = "refs/tags/frozen/first", "frozen/first.lock"

#: A git that kills whoever called it, before or after the call whose words are given.
GIT = """\
#!/bin/sh
case "$*" in *"$KILL_AT"*)
  if [ "$KILL_WHEN" = before ]; then kill -9 $PPID; exit 1; fi
  {git} "$@"; kill -9 $PPID; exit 1;;
esac
exec {git} "$@"
"""


def command(name: str = "first") -> list[str]:
    return [sys.executable, "-m", "ferrule", "freeze", name, "--today", TODAY]


def visible(repository: Repository) -> tuple[str, str, bool]:
    refs = repository.git("for-each-ref", "--format=%(refname) %(objectname)")
    return refs, repository.git("status", "--porcelain"), (repository.path / LOCK).exists()


def judge(repository: Repository, before: tuple[str, str, bool]) -> str:
    """Assert that there is nothing or a whole freeze, finish it, and say which it was."""
    opened = open_products(repository.path)[0]
    if TAG in repository.git("for-each-ref", "--format=%(refname)"):
        assert verify(opened, "first")[0].differences == ()
        found = "whole"
    else:
        assert visible(repository) == before
        found = "nothing"
    day = parse_when(TODAY).day
    assert day is not None
    request = Request(name="first", today=day)
    if found == "whole" and visible(repository)[1:] == ("", True):
        with pytest.raises(FerruleError, match="first is frozen already: tag frozen/first"):
            freeze(opened, request)
    else:
        assert freeze(opened, request).done == ("frozen" if found == "nothing" else "finished")
    assert verify(opened, "first")[0].differences == ()
    assert repository.git("status", "--porcelain") == ""
    assert repository.git("rev-parse", "HEAD") == repository.git("rev-parse", f"{TAG}^{{commit}}")
    assert (repository.path / LOCK).is_file()
    return found


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    return frozen_repository(tmp_path / "r", name="")


@pytest.mark.parametrize(
    ("at", "when", "left"),
    [
        ("hash-object -w", "before", "nothing"),
        ("commit-tree", "after", "nothing"),
        ("mktag", "after", "nothing"),
        (f"update-ref --no-deref {TAG}", "before", "nothing"),
        (f"update-ref --no-deref {TAG}", "after", "whole"),
        ("HEAD", "before", "nothing"),
        ("update-ref -m", "before", "whole"),
        ("update-ref -m", "after", "whole"),
        ("update-index", "before", "whole"),
        ("update-index", "after", "whole"),
    ],
)
def test_killed_at_a_call_of_git(
    repository: Repository, tmp_path: Path, at: str, when: str, left: str
) -> None:
    tool = tmp_path / "bin/git"
    tool.parent.mkdir()
    tool.write_text(GIT.format(git=shutil.which("git")))
    tool.chmod(0o755)
    before = visible(repository)
    env = os.environ | {
        "PATH": f"{tool.parent}{os.pathsep}{os.environ['PATH']}",
        "KILL_AT": at,
        "KILL_WHEN": when,
    }
    done = subprocess.run(command(), cwd=repository.path, env=env, capture_output=True, check=False)
    assert done.returncode == -signal.SIGKILL
    assert judge(repository, before) == left


def test_killed_at_random_moments(tmp_path: Path) -> None:
    """The whole group of processes, git's among them. How many is for the environment to say: KILLS=200."""
    template = frozen_repository(tmp_path / "template", name="").path
    chance = random.Random(os.environ.get("KILLS_SEED", "4"))  # noqa: S311  no secret
    found = []
    for number in range(int(os.environ.get("KILLS", "4"))):
        path = tmp_path / str(number)
        shutil.copytree(template, path)
        repository = Repository(path)
        before = visible(repository)
        with subprocess.Popen(
            command(), cwd=path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True
        ) as process:
            time.sleep(chance.uniform(0.1, float(os.environ.get("KILLS_WITHIN", "0.8"))))
            os.killpg(process.pid, signal.SIGKILL)
        for stale in [*(path / ".git").rglob("*.lock")]:
            if stale.name != "first.lock" or "refs" in stale.parts:
                stale.unlink()  # what a killed git leaves, as its own message says
        found.append(judge(repository, before))
        shutil.rmtree(path)
    assert len(found) == int(os.environ.get("KILLS", "4"))
    print(found.count("nothing"), "left nothing,", found.count("whole"), "a whole freeze")  # noqa: T201
