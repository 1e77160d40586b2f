"""Every test runs away from the user's git settings and environment."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

# The command is started a thousand times: compiled once, not at every start.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
settings.register_profile("ferrule", deadline=None)  # a slow machine is no fault of the code
settings.load_profile("ferrule")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update", action="store_true", help="write generated documents instead of comparing them"
    )


@pytest.fixture
def update(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--update"))


@pytest.fixture(autouse=True)
def _own_environment(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    for name in [name for name in os.environ if name.startswith(("GIT_", "FERRULE_", "PRE_COMMIT"))]:
        monkeypatch.delenv(name)
    for name in ("GITHUB_ACTIONS", "NO_COLOR", "FORCE_COLOR", "COLUMNS"):
        monkeypatch.delenv(name, raising=False)
    settings = {
        "HOME": str(tmp_path_factory.mktemp("home")),
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_AUTHOR_NAME": "A. Tester",
        "GIT_AUTHOR_EMAIL": "tester@example.invalid",
        "GIT_COMMITTER_NAME": "A. Tester",
        "GIT_COMMITTER_EMAIL": "tester@example.invalid",
        "GIT_AUTHOR_DATE": "2026-11-25T09:00:00Z",
        "GIT_COMMITTER_DATE": "2026-11-25T09:00:00Z",
        "LC_ALL": "C.UTF-8",
    }
    for name, value in settings.items():
        monkeypatch.setenv(name, value)


@pytest.fixture
def checkout() -> Path:
    """Return the top of this project's checkout."""
    return Path(__file__).parents[1]
