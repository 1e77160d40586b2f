"""`git-setup` with real git: diffs, merges, rebases, cherry-picks, and taking it out again."""

from __future__ import annotations

from pathlib import Path

import pytest

from answers import SMALL, small
from git_builders import Repository, ferrule

TOP = SMALL["assemblies/t.toml"]


def line(item: int, qty: int = 1) -> str:
    return f'[[line]]\nitem = {item}\npart = "P"\nqty = {qty}\n'


@pytest.fixture
def repository(tmp_path: Path) -> Repository:
    made = Repository(tmp_path / "with a blank" / "r")
    small(made.path)
    made.commit({"other.txt": "x\n"}, "base")
    return made


def set_up(repository: Repository, *options: str, cwd: Path | None = None) -> str:
    done = ferrule("git-setup", *options, cwd=cwd or repository.path)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def two_branches(repository: Repository, ours: str, theirs: str) -> None:
    repository.git("checkout", "-q", "-b", "theirs")
    repository.commit({"assemblies/t.toml": theirs}, "theirs")
    repository.git("checkout", "-q", "main")
    repository.commit({"assemblies/t.toml": ours}, "ours")


OURS, THEIRS = (
    TOP.replace("qty = 2", "qty = 3") + line(2),
    TOP.replace("qty = 2", 'qty = 2\nstep = "s"') + line(3),
)
BOTH = TOP.replace("qty = 2", 'qty = 3\nstep = "s"') + line(2) + "\n" + line(3)


def text(repository: Repository) -> str:
    return (repository.path / "assemblies/t.toml").read_text()


def test_without_it_git_conflicts_and_with_it_both_sides_hold(repository: Repository) -> None:
    two_branches(repository, OURS, THEIRS)
    repository.git("merge", "theirs", fine=(1,))
    assert "<<<<<<<" in text(repository)
    repository.git("merge", "--abort")
    set_up(repository)
    repository.git("merge", "-q", "-m", "both", "theirs")
    assert text(repository) == BOTH
    assert repository.git("status", "--porcelain") == ""


@pytest.mark.parametrize("how", ["rebase", "cherry-pick"])
def test_rebase_and_cherry_pick(repository: Repository, how: str) -> None:
    two_branches(repository, OURS, THEIRS)
    set_up(repository)
    if how == "rebase":
        repository.git("checkout", "-q", "theirs")
        repository.git("rebase", "-q", "main")
    else:
        repository.git("cherry-pick", "theirs")
    assert text(repository) == BOTH


def test_a_true_conflict_is_in_gits_marks_and_in_words(repository: Repository) -> None:
    two_branches(repository, TOP.replace("qty = 2", "qty = 3"), TOP.replace("qty = 2", "qty = 4"))
    set_up(repository)
    done = repository.git("merge", "theirs", fine=(1,))
    assert "CONFLICT (content)" in done
    assert "<<<<<<< ours\nqty = 3\n=======\nqty = 4\n>>>>>>> theirs" in text(repository)
    repository.git("checkout", "-q", "--ours", "assemblies/t.toml")
    repository.git("commit", "-q", "-a", "-m", "ours it is")


def test_a_merge_that_is_clean_row_by_row_and_wrong_is_stopped(repository: Repository) -> None:
    """Both add item 5, far apart in the file: git sees no conflict, and two parts would share a reference."""
    many = TOP + "".join("\n" + line(number) for number in range(20, 40))
    repository.commit({"assemblies/t.toml": many}, "many")
    ours = many.replace(line(20), line(5, 7) + "\n" + line(20))
    theirs = many + "\n" + line(5, 9)
    two_branches(repository, ours, theirs)
    repository.git("merge", "-q", "-m", "plain", "theirs")
    assert text(repository).count("item = 5\n") == 2
    repository.git("reset", "-q", "--hard", "HEAD~1")
    set_up(repository)
    repository.git("merge", "theirs", fine=(1,))
    assert "# line 5, qty: 7 here, 9 there, was not stated" in text(repository)
    assert ferrule("check", "--today", "2026-11-25", cwd=repository.path).returncode == 1


def test_a_side_that_is_no_toml_is_merged_row_by_row(repository: Repository) -> None:
    two_branches(repository, TOP + line(2), TOP.replace('id = "TOP"', "id = "))
    set_up(repository)
    repository.git("merge", "-q", "-m", "rows", "theirs")
    assert text(repository) == TOP.replace('id = "TOP"', "id = ") + line(2)


def test_git_diff_shows_facts_and_a_moved_line_shows_none(repository: Repository) -> None:
    set_up(repository)
    (repository.path / "assemblies/t.toml").write_text(TOP.replace("qty = 2", "qty = 3"))
    shown = repository.git("diff")
    assert "-assembly/TOP/line/1/qty = 2\n+assembly/TOP/line/1/qty = 3\n" in shown
    assert "+qty = 3" in repository.git("diff", "--no-textconv")
    repository.git("commit", "-q", "-a", "-m", "three")
    assert "+assembly/TOP/line/1/qty = 3" in repository.git("log", "-1", "-p")


def test_it_is_idempotent_reversible_and_leaves_the_rest_alone(repository: Repository) -> None:
    attributes = repository.path / ".git/info/attributes"
    attributes.parent.mkdir(exist_ok=True)
    attributes.write_text("*.png binary\n")
    config = (repository.path / ".git/config").read_text()
    assert set_up(repository) == "git-setup: set up for .\n"
    first = attributes.read_text(), (repository.path / ".git/config").read_text()
    assert set_up(repository) == "git-setup: set up already for .\n"
    assert (attributes.read_text(), (repository.path / ".git/config").read_text()) == first
    assert repository.git("status", "--porcelain") == ""
    assert set_up(repository, "--remove") == "git-setup: taken out\n"
    assert attributes.read_text() == "*.png binary\n"
    assert (repository.path / ".git/config").read_text() == config
    assert set_up(repository, "--remove") == "git-setup: there was nothing to take out\n"


def test_only_files_of_the_product_are_treated(repository: Repository) -> None:
    repository.commit(
        {"inner one/product.toml": SMALL["product.toml"].replace('"T"', '"U"'), ".hidden/x.toml": "a = 1\n"},
        "more",
    )
    for name in ("product.toml", "assemblies", "parts", "plans"):
        repository.git("rm", "-q", "-r", name)
    repository.git("commit", "-q", "-m", "one product in a folder")
    set_up(repository)
    paths = (
        "inner one/a.toml",
        "inner one/deep/a.toml",
        "inner one/.h/a.toml",
        "pyproject.toml",
        ".hidden/x.toml",
    )
    found = repository.git("check-attr", "merge", "--", *paths).splitlines()
    assert [row.rsplit(": ", 1)[1] for row in found] == [
        "ferrule",
        "ferrule",
        "unspecified",
        "unspecified",
        "unspecified",
    ]


def test_a_linked_worktree_is_set_up_too(repository: Repository, tmp_path: Path) -> None:
    set_up(repository)
    repository.git("worktree", "add", "-q", str(tmp_path / "linked"))
    done = repository.git("check-attr", "merge", "assemblies/t.toml", cwd=tmp_path / "linked")
    assert done.strip().endswith(": ferrule")


def test_outside_a_repository(tmp_path: Path) -> None:
    done = ferrule("git-setup", cwd=small(tmp_path / "p"))
    assert done.returncode == 2
    assert done.stderr.startswith("error: this is not a git repository")
