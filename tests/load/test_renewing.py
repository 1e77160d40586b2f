"""A record as a sheet had it, as a newer sheet has it, and as it stands now."""

from __future__ import annotations

from ferrule.load.editing import Edit
from ferrule.load.renewing import Change, paired_lines, renew_fields, renew_list


def test_only_what_the_sheet_changed_and_nobody_else_is_taken() -> None:
    before = {"name": "a", "unit": "m", "note": "x", "value": "1k", "rev": "A"}
    sheet = {"name": "b", "unit": "m", "note": "y", "value": "2k"}
    now = {"name": "a", "unit": "cm", "note": "mine", "value": "2k", "rev": "A", "class": "cable"}
    found = renew_fields("part X", ("part", "X"), before, sheet, now)
    assert found.edits == (
        Edit(path=("part", "X", "name"), value="b"),
        Edit(path=("part", "X", "rev"), value=None),
    )
    assert found.changes == (
        Change(subject="part X", field="name", before="a", sheet="b", now="a", taken=True),
        Change(subject="part X", field="note", before="x", sheet="y", now="mine", taken=False),
        Change(subject="part X", field="rev", before="A", sheet=None, now="A", taken=True),
    )


def test_entries_come_and_go_by_their_key() -> None:
    before: list[dict[str, object]] = [
        {"maker": "a", "moq": 1},
        {"maker": "b", "moq": 1},
        {"maker": "c", "moq": 1},
        {"maker": "e"},
    ]
    sheet = [{"maker": "a", "moq": 2}, {"maker": "d", "moq": 1}, {"maker": "e", "moq": 3}]
    now = [
        {"maker": "b", "moq": 1},
        {"maker": "c", "moq": 9},
        {"maker": "a", "moq": 1, "lead_time": "1 week"},
    ]
    found = renew_list(
        "source", ("s",), (before, sheet, now), lambda one: one["maker"], lambda one: f"<{one['maker']}>"
    )
    assert found.edits == (
        Edit(path=("s", 2, "moq"), value=2),
        Edit(block="<d>"),
        Edit(path=("s", 0)),
    )
    assert [(change.subject, change.taken) for change in found.changes] == [
        ("source a", True),
        ("source d", True),
        ("source b", True),
        ("source c", False),  # we changed it, so it stays; "e" we took out, so it stays out
    ]


def test_lines_keep_their_reference_when_rows_of_the_sheet_move() -> None:
    before = [
        {"item": 1, "part": "R", "designators": "R1, R2"},
        {"item": 2, "part": "C", "designators": "C1"},
        {"item": 3, "part": "U", "designators": "U1"},
    ]
    sheet = [
        {"item": 1, "part": "NEW"},
        {"item": 2, "part": "R", "designators": "R1-R3"},
        {"item": 3, "part": "U-2", "designators": "U1"},
        {"item": 4, "part": "C", "designators": "C1"},
    ]
    found = paired_lines(before, sheet, [1, 2, 3, 40])
    assert [(line["part"], line["item"]) for line in found] == [("NEW", 50), ("R", 1), ("U-2", 3), ("C", 2)]


def test_a_reference_once_used_is_never_given_again() -> None:
    found = paired_lines(
        [{"item": 7, "part": "gone"}], [{"item": 7, "part": "new"}, {"item": 8, "part": "n2"}], []
    )
    assert [line["item"] for line in found] == [10, 8]
