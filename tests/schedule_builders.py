"""Small builds to be dated: a plan with one build, a lane that takes no time, and what hangs below."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Mapping
from fractions import Fraction

from builders import product
from ferrule.compute.activities import Job
from ferrule.compute.demand import Run, demand_of
from ferrule.compute.leads import Kind
from ferrule.compute.schedule import BuildDates, books_of, schedule_build

TODAY = dt.date(2026, 11, 25)

#: A lane without any time, so that arriving and shipping are the same.
DOOR = """\
[lane.door]
name = "Over the counter"
mode = "road"
leg = [{ name = "handing over", owner = "us", likely = "0 days" }]
"""


def day(written: str) -> dt.date:
    return dt.date.fromisoformat(written)


def plan_of(dates: str, *, sku: str = "TOP", qty: int = 1, more: str = "") -> str:
    """Return a plan whose only build has these dates: ``receive_by = 2027-02-26``."""
    return (
        f'[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 80"\n'
        f'[[build]]\nname = "b"\nsku = "{sku}"\nqty = {qty}\nlane = "door"\n{dates}\n{more}'
    )


def part(number: str, *source: str) -> str:
    """Return a part with one approved source that says this."""
    return f'[part.{number}]\n[[part.{number}.source]]\nstatus = "approved"\n' + "".join(
        f"{line}\n" for line in source
    )


def assembly(number: str, *facts: str, lines: Collection[str] = ()) -> str:
    """Return an assembly with these facts; each line is a part, or ``PART @ step``."""
    text = f'[assembly]\nid = "{number}"\n' + "".join(f"{fact}\n" for fact in facts)
    for item, line in enumerate(lines, 1):
        used, _, step = line.partition(" @ ")
        text += f'[[line]]\nitem = {item}\npart = "{used}"\nqty = 1\n'
        text += f'step = "{step}"\n' if step else ""
    return text


def job_of(files: Mapping[str, str], *, kind: Kind = "worst", lane: str = DOOR) -> Job:
    """Return the build of the plan ``p`` in some files."""
    made = product({"firms/lanes.toml": lane, **files})
    plan = made.plans["p"]
    build = plan.build[0]
    run = Run(name=build.name, sku=build.sku, qty=Fraction(build.qty), day=plan.plan.start)
    return Job(product=made, plan=plan, build=build, demand=demand_of(made, run), kind=kind)


def dates_of(job: Job, today: dt.date = TODAY) -> BuildDates:
    return schedule_build(job, books_of(job.product), today)


def network_files(weeks: Mapping[str, int], before: Mapping[str, Collection[str]]) -> dict[str, str]:
    """Return an activity network as a product: who waits for nobody is a part, the rest are assemblies."""
    files = {"parts/all.toml": ""}
    for name, waits in before.items():
        if waits:
            files[f"assemblies/{name}.toml"] = assembly(
                name, f'lead_time = "{weeks[name]} weeks"', lines=waits
            )
        else:
            files["parts/all.toml"] += part(name, f'lead_time = "{weeks[name]} weeks"')
    return files
