"""`freeze` and `verify` on real repositories: what is written, what is refused, and that nothing altered passes."""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from ferrule.compute.lock_text import own_hash
from frozen_builders import PRODUCT, TODAY, WAIVER, freeze, frozen_repository
from git_builders import Repository, ferrule

LOCK = "frozen/first.lock"


def verify(
    repository: Repository, *arguments: str, cwd: Path | None = None
) -> subprocess.CompletedProcess[str]:
    return ferrule("verify", *arguments, cwd=cwd or repository.path)


def state(repository: Repository) -> tuple[str, str, str]:
    """Return what a repository shows: commits and tags, what differs, the files in the folder of frozen builds."""
    refs = repository.git("for-each-ref", "--format=%(refname) %(objectname)")
    frozen = sorted(path.name for path in (repository.path / "frozen").glob("*"))
    return refs, repository.git("status", "--porcelain"), " ".join(frozen)


# --- what a freeze is -----------------------------------------------------------------------------------


def test_a_freeze_is_one_file_one_commit_one_annotated_tag(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r")
    assert repository.git("show", "--name-status", "--format=", "HEAD") == f"A\t{LOCK}\n"
    assert repository.git("status", "--porcelain") == ""
    assert repository.git("cat-file", "-t", "frozen/first") == "tag\n"
    assert repository.git("rev-parse", "frozen/first^{commit}") == repository.git("rev-parse", "HEAD")
    assert repository.git("log", "-1", "--format=%s") == "freeze first\n"
    message = repository.git("for-each-ref", "--format=%(contents)", "refs/tags/frozen/first")
    assert message.startswith("Test: frozen build first\n\n1 parts, 1 assemblies, 1 documents")
    data = (repository.path / LOCK).read_bytes()
    assert f"Lock-Sha256: {hashlib.sha256(data).hexdigest()}\n" in message
    assert (
        data
        == subprocess.run(
            ["git", "show", f"frozen/first:{LOCK}"], cwd=repository.path, capture_output=True, check=True
        ).stdout
    )
    done = verify(repository, "first")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith("Frozen build first: unaltered\nresult: unaltered\n")
    assert "computed again from its commit, byte for byte: 4 files, 1 documents, 1 parts\n" in done.stdout


def test_a_dry_run_writes_nothing(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r", name="")
    before = state(repository)
    objects = repository.git("count-objects")
    done = freeze(repository, "first", "--dry-run")
    assert done.returncode == 0
    assert done.stdout.startswith("Could be frozen: first. Nothing was written\n")
    assert state(repository) == before
    assert repository.git("count-objects") == objects


def test_findings_stand_in_the_way_and_are_shown(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r", name="")
    repository.commit({"assemblies/top.toml": PRODUCT["assemblies/top.toml"].replace('"BOLT"', '"NUT"')})
    before = state(repository)
    done = freeze(repository, "first")
    assert done.returncode == 1
    assert "assemblies/top.toml:7:8: error[unknown-part]" in done.stdout
    assert "not frozen: 1 finding stands in the way at stage evt" in done.stderr
    assert state(repository) == before


def test_a_waiver_lets_it_through_and_is_in_the_lock(tmp_path: Path) -> None:
    """A sole source blocks in production; with a waiver in force the build is frozen, with the waiver in it."""
    rule = '\n[rule.sole-source]\nevt = "error"\n'
    repository = frozen_repository(
        tmp_path / "r", name="", more={"product.toml": PRODUCT["product.toml"] + rule}
    )
    done = freeze(repository, "first")
    assert done.returncode == 1
    assert "error[sole-source]" in done.stdout
    repository.commit({"waivers/w.toml": WAIVER})
    done = freeze(repository, "first")
    assert done.returncode == 0
    assert "waived: 1\n" in done.stdout
    text = (repository.path / LOCK).read_text()
    assert '[[waiver]]\nrule = "sole-source"\nsubject = "part/BOLT"\nkind = "deviation"\n' in text
    assert 'serials = "1-60"\n' in text
    late = ferrule("freeze", "late", "--today", "2027-05-01", cwd=repository.path)
    assert late.returncode == 1
    assert "error[waiver-expired]: the waiver of sole-source for part/BOLT ended on 2027-04-30" in late.stdout
    assert "error[sole-source]" in late.stdout


def test_warnings_stand_in_the_way_when_asked(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r", name="")
    done = freeze(repository, "first", "--fail-on", "warning")
    assert done.returncode == 1
    assert "warning[origin-missing]" in done.stdout


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"parts/bolts.toml": PRODUCT["parts/bolts.toml"] + "# more\n"}, "parts/bolts.toml"),
        ({"docs/bolt.txt": "another drawing\n"}, "docs/bolt.txt"),
        ({"new.txt": "not in git\n"}, "new.txt"),
    ],
)
def test_a_dirty_work_tree_is_refused(tmp_path: Path, change: dict[str, str], named: str) -> None:
    repository = frozen_repository(tmp_path / "r", name="")
    repository.write(change)
    before = state(repository)
    done = freeze(repository, "first")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == (
        f"error: the work tree differs from the last commit: {named}\n"
        "hint: commit or stash it first; what is frozen is a commit\n"
    )
    repository.git("add", "-A")
    assert freeze(repository, "first").returncode == 2
    repository.git("reset", "-q")
    assert state(repository) == before


def test_a_stranger_outside_the_product_is_no_dirt(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r", folder="hardware/w20", name="")
    repository.write({"scratch.txt": "mine\n"})
    assert freeze(repository, "first", cwd=repository.path / "hardware/w20").returncode == 0
    assert repository.git("status", "--porcelain") == "?? scratch.txt\n"
    assert repository.git("tag") == "hardware/w20/frozen/first\n"


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("-x", "no such option"),
        ("a b", "is no name for a frozen build"),
        ("HEAD", "is no name for a frozen build"),
        ("a..b", "git takes no tag called frozen/a..b"),
        ("a.lock", "git takes no tag called frozen/a.lock"),
        ("main", "main is a branch, tag or commit already"),
        ("FIRST", "first is frozen already, and some disks do not tell FIRST from it"),
        ("first", "first is frozen already: tag frozen/first"),
    ],
)
def test_names_that_are_refused(tmp_path: Path, name: str, told: str) -> None:
    repository = frozen_repository(tmp_path / "r")
    before = state(repository)
    done = freeze(repository, name)
    assert done.returncode == 2
    assert told in done.stderr
    assert state(repository) == before


def test_outside_git_and_before_the_first_commit(tmp_path: Path) -> None:
    for name, text in PRODUCT.items():
        (tmp_path / "plain" / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "plain" / name).write_text(text)
    done = ferrule("freeze", "first", "--today", TODAY, cwd=tmp_path / "plain")
    assert (done.returncode, done.stderr.splitlines()[0]) == (
        2,
        "error: a build is frozen in a git repository",
    )
    repository = Repository(tmp_path / "r")
    repository.write(PRODUCT)
    assert freeze(repository, "first").returncode == 2
    (tmp_path / "r/.git/info/exclude").write_text("*\n")
    done = freeze(repository, "first")
    assert (done.returncode, done.stderr.splitlines()[0]) == (2, "error: no commit has the name HEAD")


def test_a_build_that_supersedes_another(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r")
    assert freeze(repository, "second", "--supersedes", "nothing").stderr.startswith(
        "error: there is no frozen build nothing to supersede\n"
    )
    assert freeze(repository, "second", "--supersedes", "first").returncode == 0
    first = (repository.path / LOCK).read_bytes()
    text = (repository.path / "frozen/second.lock").read_text()
    assert f'supersedes = "first"\nsupersedes_sha256 = "{hashlib.sha256(first).hexdigest()}"\n' in text
    assert "superseded by second\n" in verify(repository, "first").stdout
    done = verify(repository)
    assert done.returncode == 0
    assert done.stdout.startswith("2 frozen builds, all unaltered\n")
    repository.git("tag", "-d", "frozen/first")
    done = verify(repository, "second")
    assert done.returncode == 1
    assert "first difference: supersedes first\n" in done.stdout


# --- the same bytes -------------------------------------------------------------------------------------


def test_the_same_bytes_and_names_everywhere(tmp_path: Path) -> None:
    """Hash seeds, locales, time zones, line ends of the checkout: lock, commit and tag stay the same."""
    origin = frozen_repository(tmp_path / "origin", name="")
    seen = set()
    for number, (seed, locale, zone, ends) in enumerate(
        [
            ("0", "C", "UTC", "false"),
            ("1", "C.UTF-8", "Pacific/Auckland", "true"),
            ("42", "POSIX", "America/St_Johns", "input"),
        ]
    ):
        clone = tmp_path / str(number)
        origin.git("clone", "-q", "-c", f"core.autocrlf={ends}", ".", str(clone))
        repository = Repository(clone)
        done = freeze(repository, "first", PYTHONHASHSEED=seed, LC_ALL=locale, TZ=zone)
        assert (done.returncode, done.stderr) == (0, "")
        assert repository.git("status", "--porcelain") == ""
        assert verify(repository, "first").returncode == 0
        blob = repository.git("rev-parse", f"HEAD:{LOCK}")
        seen.add((blob, repository.git("rev-parse", "HEAD"), repository.git("rev-parse", "frozen/first")))
    assert len(seen) == 1


def test_a_checkout_with_other_line_ends_is_unaltered(tmp_path: Path) -> None:
    origin = frozen_repository(tmp_path / "origin")
    origin.git("clone", "-q", "-c", "core.autocrlf=true", ".", str(tmp_path / "clone"))
    clone = Repository(tmp_path / "clone")
    assert b"\r\n" in (clone.path / LOCK).read_bytes()
    assert b"\r\n" in (clone.path / "docs/bolt.txt").read_bytes()
    done = verify(clone, "first")
    assert done.returncode == 0
    assert "another content on the disk" not in done.stdout
    assert "frozen" not in ferrule("check", "--today", TODAY, cwd=clone.path).stdout


@pytest.mark.parametrize("form", ["sha1", "sha256"])
def test_other_shapes_of_repository(tmp_path: Path, form: str) -> None:
    """Both object formats, a linked work tree, a detached head, settings that would sign or run hooks."""
    main = Repository(tmp_path / "main", f"--object-format={form}")
    main.commit(PRODUCT)
    for setting in ("commit.gpgSign", "tag.gpgSign"):
        main.git("config", setting, "true")
    hook = main.path / ".git/hooks/pre-commit"
    hook.write_text("#!/bin/sh\nexit 1\n")
    hook.chmod(0o755)
    main.git("worktree", "add", "-q", "--detach", "../linked")
    linked = Repository(tmp_path / "linked")
    assert freeze(linked, "first").returncode == 0
    assert verify(linked, "first").returncode == 0
    assert linked.git("status", "--porcelain") == ""
    done = verify(main, "first")
    assert done.returncode == 0
    assert "the lock is not in this work tree" in done.stdout


# --- signatures -----------------------------------------------------------------------------------------


@pytest.fixture
def keyed(tmp_path: Path) -> Repository:
    """Return a repository set up to sign with a real SSH key."""
    if shutil.which("ssh-keygen") is None:
        pytest.skip("ssh-keygen is not at hand")
    key = tmp_path / "key"
    subprocess.run(
        ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "tester", "-f", str(key)], check=True
    )
    repository = frozen_repository(tmp_path / "r", name="")
    (tmp_path / "signers").write_text(f"tester@example.invalid {key.with_suffix('.pub').read_text()}")
    repository.git("config", "gpg.format", "ssh")
    repository.git("config", "user.signingkey", str(key))
    repository.git("config", "gpg.ssh.allowedSignersFile", str(tmp_path / "signers"))
    return repository


def test_a_signed_tag(keyed: Repository) -> None:
    done = freeze(keyed, "first", "--sign")
    assert (done.returncode, done.stderr) == (0, "")
    assert "signature: ssh, good\n" in done.stdout
    keyed.git("verify-tag", "frozen/first")
    done = verify(keyed, "first")
    assert done.returncode == 0
    assert "signature: ssh, good\n" in done.stdout
    keyed.git("config", "--unset", "gpg.ssh.allowedSignersFile")
    done = verify(keyed, "first")
    assert done.returncode == 0
    assert "signature: ssh, not vouched for here: " in done.stdout


def test_a_key_that_cannot_sign_leaves_nothing(keyed: Repository, tmp_path: Path) -> None:
    """`git tag -s` itself would leave an unsigned tag and exit 0."""
    (tmp_path / "key").unlink()
    (tmp_path / "key.pub").unlink()
    before = state(keyed)
    done = freeze(keyed, "first", "--sign")
    assert done.returncode == 2
    assert done.stderr.startswith("error: git could not sign the tag: ")
    assert "nothing was written" in done.stderr
    assert state(keyed) == before
    keyed.git("config", "gpg.format", "openpgp")
    keyed.git("config", "gpg.program", "/nonexistent/gpg")
    assert freeze(keyed, "first", "--sign").returncode == 2
    assert state(keyed) == before


def test_a_signature_that_was_taken_off_or_does_not_fit(keyed: Repository) -> None:
    assert freeze(keyed, "first", "--sign").returncode == 0
    signed = keyed.git("cat-file", "tag", "frozen/first")
    unsigned = signed[: signed.index("-----BEGIN SSH SIGNATURE-----")]
    replace_tag(keyed, unsigned)
    done = verify(keyed, "first")
    assert done.returncode == 1
    assert "first difference: tag\n" in done.stdout
    assert "has no signature" in done.stdout
    replace_tag(keyed, signed.replace("frozen build first", "frozen build First"))
    done = verify(keyed, "first")
    assert done.returncode == 1
    assert "first difference: signature\n" in done.stdout


def replace_tag(repository: Repository, text: str) -> None:
    """Put another tag object under the name, as someone who rewrites history would."""
    made = subprocess.run(
        ["git", "hash-object", "-t", "tag", "-w", "--stdin"],
        cwd=repository.path, input=text.encode(), capture_output=True, check=True,
    )  # fmt: skip
    repository.git("update-ref", "refs/tags/frozen/first", made.stdout.decode().strip())


# --- tampering ------------------------------------------------------------------------------------------


def forge(repository: Repository, text: str) -> None:
    """Commit another lock on top of the frozen commit and move the tag to it, its message made to fit."""
    digest = hashlib.sha256(text.encode()).hexdigest()
    parent = repository.git("rev-parse", "frozen/first^{commit}^").strip()
    message = repository.git("cat-file", "tag", "frozen/first")
    repository.git("checkout", "-q", parent)
    repository.commit({LOCK: text}, "freeze first")
    commit = repository.git("rev-parse", "HEAD").strip()
    fitting = re.sub(r"Lock-Sha256: \w+", f"Lock-Sha256: {digest}", message)
    replace_tag(repository, re.sub(r"^object \w+", f"object {commit}", fitting))


def lines_of(text: str) -> list[int]:
    """Return the lines that state a fact that follows from the frozen commit."""
    attested = ("#", "day = ", "ferrule = ", "rules = ", "text = ", "[", "]", "}")
    rows = text.splitlines()
    return [n for n, row in enumerate(rows) if row.strip() and not row.startswith(attested)]


def changed(row: str) -> str:
    """Return a line with another value."""
    if row.endswith(("true", "false")):
        return row.replace("true", "false") if row.endswith("true") else row.replace("false", "true")
    found = re.search(r"[0-9A-Za-z](?=[^0-9A-Za-z]*$)", row)
    assert found is not None, row
    other = "1" if found[0] != "1" else "2"
    return row[: found.start()] + other + row[found.end() :]


def test_every_altered_line_is_found(tmp_path: Path) -> None:
    """Each fact is changed in a forged lock whose own hash, commit and tag all fit; computing it again finds each."""
    from ferrule.app.verifying import verify as run
    from ferrule.source.products import open_products

    repository = frozen_repository(tmp_path / "r", more={"waivers/w.toml": WAIVER})
    text = (repository.path / LOCK).read_text()
    honest = repository.git("rev-parse", "frozen/first").strip()
    rows = text.splitlines()
    numbers = lines_of(text)
    assert len(numbers) > 30
    for number in numbers:
        edited = "\n".join([*rows[:number], changed(rows[number]), *rows[number + 1 :]]) + "\n"
        edited = re.sub(r'text = "\w+"', f'text = "{own_hash(edited)}"', edited)
        forge(repository, edited)
        (result,) = run(open_products(repository.path)[0], "first")
        assert result.differences, rows[number]
        repository.git("update-ref", "refs/tags/frozen/first", honest)
        repository.git("checkout", "-q", "main")


def test_a_lock_edited_by_hand(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r")
    path = repository.path / LOCK
    path.write_text(path.read_text().replace('qty = "4"', 'qty = "5"'))
    done = verify(repository, "first")
    assert done.returncode == 1
    assert "first difference: frozen/first.lock: assembly/TOP/line/10/qty\n" in done.stdout
    found = ferrule("check", "--today", TODAY, cwd=repository.path)
    assert found.returncode == 1
    assert (
        "frozen/first.lock:1:1: error[generated-file-edited]: the lock of first was changed by hand"
        in found.stdout
    )
    assert "hint: git checkout frozen/first -- frozen/first.lock" in found.stdout
    repository.git("checkout", "frozen/first", "--", LOCK)
    assert verify(repository, "first").returncode == 0


def test_a_lock_taken_away_or_computed_again(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r")
    other = frozen_repository(tmp_path / "o", more={"docs/bolt.txt": "another drawing\n"})
    repository.commit({LOCK: (other.path / LOCK).read_text()})
    found = ferrule("check", "--today", TODAY, cwd=repository.path).stdout
    assert (
        "error[frozen-build-altered]: the lock of first is another one than at its tag frozen/first" in found
    )
    assert verify(repository, "first").returncode == 1
    repository.git("rm", "-q", LOCK)
    found = ferrule("check", "--index", "--today", TODAY, cwd=repository.path).stdout
    assert "error[frozen-build-altered]: the lock of first was taken away; its tag is still there" in found
    repository.git("commit", "-q", "-m", "gone")
    done = verify(repository, "first")
    assert done.returncode == 1
    assert "first difference: frozen/first.lock\n" in done.stdout
    before = ferrule("check", "--at", "frozen/first~1", "--today", TODAY, cwd=repository.path).stdout
    assert "frozen" not in before


@pytest.mark.parametrize("kind", ["lightweight", "elsewhere", "beside"])
def test_a_tag_that_is_not_what_freeze_made(tmp_path: Path, kind: str) -> None:
    repository = frozen_repository(tmp_path / "r")
    if kind == "lightweight":
        repository.git("tag", "-f", "frozen/first", "HEAD")
        told = "is not an annotated one"
    elif kind == "elsewhere":
        repository.git("tag", "-f", "-a", "-m", "x", "frozen/first", "HEAD~1")
        told = "points at a commit without the lock"
    else:
        repository.git("reset", "-q", "--soft", "HEAD~1")
        repository.commit({"docs/bolt.txt": "another drawing\n"}, "freeze first")
        message = repository.git("cat-file", "tag", "frozen/first")
        commit = repository.git("rev-parse", "HEAD").strip()
        replace_tag(repository, re.sub(r"^object \w+", f"object {commit}", message))
        told = "changed beside the lock"
    done = verify(repository, "first")
    assert done.returncode == 1
    assert told in " ".join(done.stdout.split())


def test_a_clone_without_tags(tmp_path: Path) -> None:
    origin = frozen_repository(tmp_path / "origin")
    origin.git("clone", "-q", "--no-tags", ".", str(tmp_path / "clone"))
    clone = Repository(tmp_path / "clone")
    done = verify(clone, "first")
    assert (done.returncode, done.stderr) == (
        2,
        "error: the tag of first is not here\nhint: fetch the tags: git fetch --tags\n",
    )
    found = ferrule("check", "--today", TODAY, cwd=clone.path).stdout
    assert "warning[frozen-build-altered]: the lock of first has no tag frozen/first here" in found
    assert freeze(clone, "first").stderr.splitlines()[1] == "hint: fetch the tags: git fetch --tags"


def test_a_shallow_clone_cannot_tell_and_says_so(tmp_path: Path) -> None:
    origin = frozen_repository(tmp_path / "origin")
    origin.git("clone", "-q", "--depth", "1", origin.path.as_uri(), str(tmp_path / "clone"))
    clone = Repository(tmp_path / "clone")
    clone.git("fetch", "-q", "--depth", "1", "origin", "tag", "frozen/first")
    done = verify(clone, "first")
    assert done.returncode == 2
    assert done.stderr.startswith("error: this shallow clone does not hold the frozen commit ")
    clone.git("fetch", "-q", "--unshallow")
    assert verify(clone, "first").returncode == 0


# --- its name in the place of a revision -----------------------------------------------------------------


def test_a_frozen_build_is_a_revision(tmp_path: Path) -> None:
    repository = frozen_repository(tmp_path / "r")
    repository.commit({"assemblies/top.toml": PRODUCT["assemblies/top.toml"].replace("qty = 4", "qty = 6")})
    then = json.loads(
        ferrule("explode", "TOP", "--at", "first", "--format", "json", cwd=repository.path).stdout
    )
    now = json.loads(
        ferrule("explode", "TOP", "--at", "HEAD", "--format", "json", cwd=repository.path).stdout
    )
    assert [row["quantity"] for row in (then["parts"][0], now["parts"][0])] == ["4", "6"]
    assert then["state"].endswith("(first)")
    done = ferrule("check", "--since", "first", "--today", TODAY, cwd=repository.path)
    assert done.stdout.endswith("added since first in 4 files; 0 waived\n") or "since first" in done.stdout
    repository.git("branch", "first", "HEAD")
    done = ferrule("explode", "TOP", "--at", "first", cwd=repository.path)
    assert done.returncode == 2
    assert done.stderr.splitlines() == [
        "error: first is a frozen build, and a branch or tag has that name too",
        "hint: write frozen/first for the frozen build, or heads/first or tags/first for the other",
    ]


def test_two_products_with_a_build_of_the_same_name(tmp_path: Path) -> None:
    repository = Repository(tmp_path / "r")
    for folder in ("a", "b"):
        repository.commit({f"{folder}/{path}": text for path, text in PRODUCT.items()})
        assert freeze(repository, "first", cwd=repository.path / folder).returncode == 0
    assert repository.git("tag").split() == ["a/frozen/first", "b/frozen/first"]
    for folder in ("a", "b"):
        done = ferrule("explode", "--at", "first", "--format", "json", cwd=repository.path / folder)
        assert done.returncode == 0
        assert verify(repository, "first", cwd=repository.path / folder).returncode == 0
    done = ferrule("explode", "--at", "first", cwd=repository.path)
    assert done.stderr.splitlines()[0] == (
        "error: several products have a frozen build first: a/frozen/first, b/frozen/first"
    )


def test_nothing_is_pushed_and_hooks_of_git_see_no_other_repository(tmp_path: Path) -> None:
    origin = frozen_repository(tmp_path / "origin", name="")
    origin.git("clone", "-q", ".", str(tmp_path / "clone"))
    clone = Repository(tmp_path / "clone")
    done = freeze(clone, "first", GIT_INDEX_FILE=os.devnull)
    assert done.returncode in (0, 2)
    done = freeze(clone, "first") if done.returncode else done
    assert done.returncode == 0
    assert origin.git("tag") == ""
