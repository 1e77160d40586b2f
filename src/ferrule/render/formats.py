"""The formats `check` can answer in, each imported only when asked for."""

from __future__ import annotations

import importlib
from collections.abc import Callable

from ferrule.diagnostics.finding import CheckResult
from ferrule.render.text import Show, render_text

__all__ = ["CHECK_FORMATS", "render_check"]

#: Format → where its function is: from a result to the whole text.
_MACHINE: dict[str, tuple[str, str]] = {
    "json": ("ferrule.render.json_form", "render"),
    "sarif": ("ferrule.render.sarif", "render"),
    "github": ("ferrule.render.github", "render"),
    "gitlab": ("ferrule.render.gitlab", "render"),
    "junit": ("ferrule.render.junit", "render"),
    "markdown": ("ferrule.render.markdown", "render"),
}
CHECK_FORMATS = ("text", *_MACHINE)


def render_check(result: CheckResult, format: str, *, color: bool, width: int | None, show_path: Show) -> str:  # noqa: A002  the option's name
    """Return a check's result in one of CHECK_FORMATS, with a final newline.

    Only text looks at ``color``, ``width`` and ``show_path``: machine formats keep the paths from the
    repository's top, and their bytes depend on nothing but the result.
    """
    if format == "text":
        return render_text(result, show_path, color=color, columns=width)
    module, name = _MACHINE[format]
    render: Callable[[CheckResult], str] = getattr(importlib.import_module(module), name)
    return render(result)
