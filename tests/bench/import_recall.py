"""How many part lines of generated sheets the import finds, and how many rows it takes for parts falsely.

    python tests/bench/import_recall.py [--sheets 400] [--first 0] [--show 20]

Run by hand; nothing is judged. A sheet is exact when lines, quantity, differing lines and assemblies are all
those of its truth. The sheets are our own (tests/exchange/generator.py): real ones are worse.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "exchange"))

from generator import Made, make

from ferrule.exchange.recognise import recognise


def faults(made: Made) -> tuple[int, int, list[str]]:
    """Return lines missed, rows taken falsely, and what else is not as in the truth."""
    found = recognise(made.data, made.name)
    counts = found.counts
    places = Counter((line.place.sheet, line.place.row) for line in found.lines)
    wanted = set(made.lines)
    missed = len(wanted - places.keys())
    false = len(places.keys() - wanted)
    wrong: list[str] = []
    checks = [
        ("quantity", counts.quantity, made.quantity),
        (
            "differ",
            {(found.lines[at].place.sheet, found.lines[at].place.row) for at in counts.differ},
            made.differ,
        ),
        ("not fitted", counts.not_fitted, made.not_fitted),
        ("assemblies", counts.assemblies, made.assemblies),
        ("sources", counts.sources, made.sources),
        ("left out", len(counts.left_out), made.left_out),
        ("without maker", len(counts.without_maker or ()), made.without_maker or 0),
    ]
    if made.cost is not None:
        checks.append(("cost", sum((cost.by_price for cost in counts.costs), 0), made.cost))
    wrong += [f"{name} {have} for {want}" for name, have, want in checks if have != want]
    return missed, false, wrong


def main() -> None:
    """Print recall, false rows and the sheets that are not exact."""
    options = argparse.ArgumentParser()
    options.add_argument("--sheets", type=int, default=400)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--show", type=int, default=20)
    given = options.parse_args()
    lines = missed_all = false_all = exact = 0
    shown: list[str] = []
    for seed in range(given.first, given.first + given.sheets):
        made = make(seed)
        missed, false, wrong = faults(made)
        lines += len(made.lines)
        missed_all += missed
        false_all += false
        exact += not (missed or false or wrong)
        if missed or false or wrong:
            shown.append(f"{seed}: {made.recipe}: missed {missed}, false {false}, {'; '.join(wrong)}")
    told = [
        f"sheets {given.sheets}, exact {exact} ({exact / given.sheets:.1%})",
        f"part lines {lines}, found {lines - missed_all} (recall {(lines - missed_all) / lines:.2%}), false rows {false_all}",
        *shown[: given.show],
    ]
    sys.stdout.write("\n".join(told) + "\n")


if __name__ == "__main__":
    main()
