"""The forms `check` can answer in, each imported only when asked for."""

from __future__ import annotations

import importlib
from collections.abc import Callable

from ferrule.diagnostics.finding import CheckResult
from ferrule.render.text import Show, render_text

__all__ = ["CHECK_FORMS", "render_check"]

_MACHINE = {
    "json": "ferrule.render.json_form",
    "sarif": "ferrule.render.sarif",
    "github": "ferrule.render.github",
    "gitlab": "ferrule.render.gitlab",
    "junit": "ferrule.render.junit",
    "markdown": "ferrule.render.markdown",
}
CHECK_FORMS = ("text", *_MACHINE)


def render_check(result: CheckResult, form: str, show: Show, *, color: bool = False) -> str:
    """Return a check's result in one of CHECK_FORMS. Machine forms keep paths from the repository's top."""
    if form == "text":
        return render_text(result, show, color=color)
    render: Callable[[CheckResult], str] = importlib.import_module(_MACHINE[form]).render
    return render(result)
