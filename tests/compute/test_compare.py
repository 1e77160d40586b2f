"""What changed, by hand: each kind of difference on a product of a few lines."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping

import msgspec

from builders import TODAY, load, product
from ferrule.compute.compare import Comparison, compare
from ferrule.compute.compare_approvals import needs
from ferrule.compute.compare_reuse import item_reused
from ferrule.compute.fields import Change
from ferrule.model.product import Product

HEAD = """\
[product]
id = "T"
name = "Test"
currency = "EUR"
stage = "dvt"
markets = ["EU"]

[role.safety]
people = ["m.tarn"]
approves = ["safety"]
"""
PARTS = """\
[part.CAP]
class = "electrical"
rev = "A"
[[part.CAP.source]]
maker = "ashfield"
maker_part = "AC1"
seller = "norholt"
status = "approved"
currency = "USD"
price = [{ from = 1000, each = 0.0062 }, { from = 5000, each = 0.0058 }]
moq = 1000
lead_time = "12 weeks"
[[part.CAP.source]]
maker = "dunlin"
maker_part = "DN1"
seller = "mirefen"
status = "approved"
plant = "Dunlin fab 2"
[part.RES]
class = "electrical"
[part.CELL]
class = "battery"
safety_critical = true
safety_reason = "can burn"
battery = { chemistry = "lithium ion", cell_maker = "korvel", cell_model = "KV-26", test_summary = "docs/un383.txt" }
[part.WIRE]
unit = "m"
"""
BOARD = """\
[assembly]
id = "BOARD"
rev = "A"
[[line]]
item = 10
part = "CAP"
qty = 4
designators = "C1-C4"
[[line]]
item = 20
part = "RES"
qty = 2
designators = "R1, R2"
[[line]]
item = 30
part = "WIRE"
qty = "1000 mm"
"""
TOP = """\
[assembly]
id = "TOP"
origin = "VN"
customs_code = [{ destination = "EU", code = "8519 81 00" }]
sale.web = { list_price = "100 EUR" }
[[line]]
item = 10
part = "BOARD"
qty = 1
"""
OTHER = '[assembly]\nid = "OTHER"\nsale.web = { list_price = "9 EUR" }\n[[line]]\nitem = 10\npart = "CELL"\nqty = 1\n'
FIRMS = """\
[firm.ashfield]
name = "Ashfield"
[firm.dunlin]
name = "Dunlin"
[firm.norholt]
name = "Norholt"
[firm.mirefen]
name = "Mirefen"
[channel.web]
name = "web"
kind = "direct"
[[duty]]
destination = "EU"
code = "85198100"
origin = "VN"
rate = "0 %"
basis = "freight-inclusive"
[[duty]]
destination = "EU"
code = "85198100"
rate = "2 %"
basis = "freight-inclusive"
[[rate]]
rate = "1 EUR = 1.08 USD"
"""
FILES: dict[str, str] = {
    "product.toml": HEAD,
    "parts/all.toml": PARTS,
    "assemblies/board.toml": BOARD,
    "assemblies/top.toml": TOP,
    "assemblies/other.toml": OTHER,
    "firms/all.toml": FIRMS,
}
DAYS = (TODAY, TODAY)


def made(edits: Mapping[str, tuple[str, str]] | None = None) -> Product:
    """Return the product with one text replaced by another in some files."""
    files = dict(FILES)
    for file, (old, new) in (edits or {}).items():
        assert old in files[file]
        files[file] = files[file].replace(old, new)
    return product(files)


def changed(file: str, old: str, new: str) -> Comparison:
    return compare(made(), made({file: (old, new)}), DAYS)


def facts(fields: tuple[Change, ...]) -> list[tuple[object, str, str]]:
    return [(change.path, str(change.before), str(change.after)) for change in fields]


# --- what is no change --------------------------------------------------------------------------------


def test_same_is_empty() -> None:
    found = compare(made(), made(), DAYS)
    assert found.is_empty
    assert not found.kinds
    assert found.reach.skus == ()


def test_other_writing_is_no_change_and_counted() -> None:
    # 1000 mm is 1 m exactly; twelve weeks are 84 days; 0.0062 is 0.00620; C1-C4 is C4, C3, C1, C2
    for file, old, new in (
        ("assemblies/board.toml", '"1000 mm"', '"1 m"'),
        ("assemblies/board.toml", '"1000 mm"', "1"),
        ("parts/all.toml", '"12 weeks"', '"84 days"'),
        ("assemblies/board.toml", "C1-C4", "C4, C3, C1, C2"),
        ("parts/all.toml", "each = 0.0062 }", 'each = "0.0062 USD" }'),
        ("firms/all.toml", "1 EUR = 1.08 USD", "100 EUR = 108 USD"),
    ):
        found = changed(file, old, new)
        assert found.is_empty, new
        assert found.hidden.rewritten == 1, new
    found = changed("parts/all.toml", "each = 0.0062 }", "each = 0.00620 }")
    assert found.is_empty


def test_working_days_are_no_days() -> None:
    found = changed("parts/all.toml", '"12 weeks"', '"84 working days"')
    assert facts(found.sources[0].fields) == [(("lead_time",), "12 weeks", "84 working days")]


def test_moved_and_renamed_files_are_no_change_and_counted() -> None:
    files = dict(FILES)
    caps, rest = files.pop("parts/all.toml").split("[part.RES]")
    files |= {"parts/caps.toml": caps, "parts/rest.toml": "[part.RES]" + rest}
    files["boards/main.toml"] = files.pop("assemblies/board.toml")
    found = compare(made(), product(files), DAYS)
    assert found.is_empty
    # four parts and one assembly
    assert [(m.kind, m.name, m.after) for m in found.hidden.moved] == [
        ("assembly", "BOARD", "boards/main.toml"),
        ("part", "CAP", "parts/caps.toml"),
        ("part", "CELL", "parts/rest.toml"),
        ("part", "RES", "parts/rest.toml"),
        ("part", "WIRE", "parts/rest.toml"),
    ]


def test_moved_duty_is_counted() -> None:
    files = dict(FILES)
    first, last = files.pop("firms/all.toml").split("[[rate]]")
    files |= {"firms/all.toml": first, "firms/rates.toml": "[[rate]]" + last}
    found = compare(made(), product(files), DAYS)
    assert found.is_empty
    assert [(m.kind, m.after) for m in found.hidden.moved] == [("rate", "firms/rates.toml")]


def test_another_product_folder_is_no_move() -> None:
    one = made()
    homes = {key: msgspec.structs.replace(home, file=f"w20/{home.file}") for key, home in one.homes.items()}
    found = compare(one, msgspec.structs.replace(one, homes=homes), DAYS)
    assert found.hidden.moved == ()


def test_reordered_lines_are_no_change_and_counted() -> None:
    one = made()
    lines = {**one.lines, "BOARD": one.lines["BOARD"][::-1]}
    found = compare(one, msgspec.structs.replace(one, lines=lines), DAYS)
    assert found.is_empty
    assert found.hidden.reordered == 1


# --- lines --------------------------------------------------------------------------------------------


def test_quantity_and_designators_of_a_line() -> None:
    found = changed(
        "assemblies/board.toml", 'qty = 4\ndesignators = "C1-C4"', 'qty = 5\ndesignators = "C1-C3, C5, C6"'
    )
    (line,) = found.lines
    assert (line.assembly, line.record.item, line.sign) == ("BOARD", 10, "changed")
    assert facts(line.fields) == [(("qty",), "4", "5")]
    assert (line.gained, line.lost) == (("C5", "C6"), ("C4",))
    assert found.moves == ()


def test_every_field_of_a_line_that_a_reviewer_asks_for() -> None:
    more = 'qty = 2\nfitted = false\nattrition = "3 %"\nstep = "place"\nsupply = "consigned"\n'
    more += 'alternates = [{ part = "CAP", approved = 2026-09-01, one_way = true }]\neffective = { until_used_up = true }'
    (line,) = changed("assemblies/board.toml", "qty = 2", more).lines
    assert [(change.path, change.sort) for change in line.fields] == [
        (("fitted",), "value"),
        (("attrition",), "value"),
        (("alternates", ("CAP",)), "entry"),
        (("effective",), "value"),
        (("supply",), "value"),
        (("step",), "value"),
    ]
    found = changed("assemblies/board.toml", "qty = 2", more)
    assert {"document", "supplier"} <= set(found.kinds)


def test_designator_that_goes_to_another_part_is_a_move() -> None:
    one = made({"assemblies/board.toml": ('"R1, R2"', '"R1, R2, R3"')})
    two = made({"assemblies/board.toml": ('"C1-C4"', '"C1-C4, R3"')})
    found = compare(one, two, DAYS)
    (move,) = found.moves
    assert (move.before, move.after, move.names) == ((20, "RES"), (10, "CAP"), ("R3",))


def test_designator_in_another_assembly_is_no_move() -> None:
    old = made()
    new = made(
        {
            "assemblies/board.toml": ('"R1, R2"', '"R1"'),
            "assemblies/top.toml": ("qty = 1", 'qty = 1\ndesignators = "R2"'),
        }
    )
    found = compare(old, new, DAYS)
    assert found.moves == ()
    assert [(line.assembly, line.gained, line.lost) for line in found.lines] == [
        ("BOARD", (), ("R2",)),
        ("TOP", ("R2",), ()),
    ]


def test_line_with_another_item_is_matched_by_its_part() -> None:
    found = changed("assemblies/board.toml", "item = 20", "item = 25")
    (line,) = found.lines
    assert facts(line.fields) == [(("item",), "20", "25")]
    assert found.reused == ()


def test_line_that_came_and_line_that_went() -> None:
    extra = '[[line]]\nitem = 40\npart = "CELL"\nqty = 1\n'
    two = product(FILES | {"assemblies/board.toml": BOARD + extra})
    assert [(x.sign, x.record.item) for x in compare(made(), two, DAYS).lines] == [("added", 40)]
    assert [(x.sign, x.record.item) for x in compare(two, made(), DAYS).lines] == [("removed", 40)]


def test_same_designator_on_two_lines_goes_by_item_whichever_way_it_is_read() -> None:
    # the fault of one place on two lines must not make the answer hang on the side it is read from
    old = made({"assemblies/board.toml": ("C1-C4", "C1-C3, X1")})
    doubled = (
        BOARD.replace("C1-C4", "C1-C3")
        .replace("R1, R2", "R1, R2, X1")
        .replace('mm"', 'mm"\ndesignators = "X1"')
    )
    new = product(FILES | {"assemblies/board.toml": doubled.replace("item = 10", "item = 40")})
    there, back = compare(old, new, DAYS).moves, compare(new, old, DAYS).moves
    assert [(move.before, move.after) for move in there] == [((10, "CAP"), (20, "RES"))]
    assert [(move.after, move.before) for move in back] == [((10, "CAP"), (20, "RES"))]


def test_lines_that_follow_one_another_on_one_item_keep_their_partners() -> None:
    first = '[[line]]\nitem = 40\npart = "CELL"\nqty = 1\neffective = { to_serial = 1500 }\n'
    second = '[[line]]\nitem = 40\npart = "RES"\nqty = 1\neffective = { from_serial = 1501 }\n'
    old = product(FILES | {"assemblies/board.toml": BOARD + first + second})
    later = first.replace("1500", "2000") + second.replace("1501", "2001")
    found = compare(old, product(FILES | {"assemblies/board.toml": BOARD + later}), DAYS)
    assert [(x.record.part, facts(x.fields)) for x in found.lines] == [
        ("CELL", [(("effective", "to_serial"), "1500", "2000")]),
        ("RES", [(("effective", "from_serial"), "1501", "2001")]),
    ]
    assert found.reused == ()


def test_order_of_alternates_says_something_and_is_told_once() -> None:
    first, second = '{ part = "CELL" }', '{ part = "CAP" }'
    sides = [
        made({"assemblies/board.toml": ("qty = 2", f"qty = 2\nalternates = [{one}, {other}]")})
        for one, other in ((first, second), (second, first))
    ]
    found = compare(sides[0], sides[1], DAYS)
    (change,) = found.lines[0].fields
    assert (change.path, change.sort) == (("alternates",), "order")
    assert (change.before, change.after) == ((("CELL",), ("CAP",)), (("CAP",), ("CELL",)))


def test_two_lines_alike_are_told_apart_by_their_content() -> None:
    twice = '[[line]]\nitem = 40\npart = "CELL"\nqty = 1\n[[line]]\nitem = 40\npart = "CELL"\nqty = 2\n'
    sides = [
        product(FILES | {"assemblies/board.toml": BOARD + text})
        for text in (twice, twice.replace("qty = 2", "qty = 3"))
    ]
    found = compare(sides[0], sides[1], DAYS)
    assert [(x.sign, facts(x.fields)) for x in found.lines] == [("changed", [(("qty",), "2", "3")])]


def test_setting_that_was_one_and_is_true_now() -> None:
    plan = '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 20"\n[scenario.s]\nset = { "policy.x" = 1 }\n'
    sides = [
        load(FILES | {"plans/p.toml": text}).product for text in (plan, plan.replace("= 1 }", "= true }"))
    ]
    (record,) = compare(sides[0], sides[1], DAYS).records
    assert facts(record.fields) == [(("scenario", ("s",), "set", ("policy.x",)), "1", "True")]


# --- items --------------------------------------------------------------------------------------------


def test_part_under_a_new_number_is_renamed() -> None:
    new = made(
        {
            "parts/all.toml": ("[part.RES]", '[part.RES-2]\nreplaces = "RES"'),
            "assemblies/board.toml": ('"RES"', '"RES-2"'),
        }
    )
    found = compare(made(), new, DAYS)
    (item,) = found.items
    assert (item.sign, item.was, item.number) == ("changed", "RES", "RES-2")
    assert facts(found.lines[0].fields) == [(("part",), "RES", "RES-2")]
    assert found.reused == ()
    assert [(q.kind, q.subject, q.facts) for q in found.questions] == [
        ("form-fit-function", "BOARD", ("line",)),
        ("interchange", "RES-2", ("RES",)),
    ]


def test_renamed_is_renamed_whichever_way_it_is_read() -> None:
    new = made(
        {
            "parts/all.toml": ("[part.RES]", '[part.RES-2]\nreplaces = "RES"'),
            "assemblies/board.toml": ('"RES"', '"RES-2"'),
        }
    )
    (item,) = compare(new, made(), DAYS).items
    assert (item.was, item.number) == ("RES-2", "RES")


def test_two_that_replace_one_are_no_new_number_for_it() -> None:
    two = '[part.RES-2]\nreplaces = "RES"\n[part.RES-3]\nreplaces = "RES"\n'
    new = made({"parts/all.toml": ("[part.RES]", two), "assemblies/board.toml": ('"RES"', '"RES-2"')})
    found = compare(made(), new, DAYS)
    assert [(item.sign, item.number) for item in found.items] == [
        ("removed", "RES"),
        ("added", "RES-2"),
        ("added", "RES-3"),
    ]
    assert [fault.item for fault in found.reused] == [20]
    back = compare(new, made(), DAYS)
    assert [(item.sign, item.number) for item in back.items] == [
        ("added", "RES"), ("removed", "RES-2"), ("removed", "RES-3"),
    ]  # fmt: skip


def test_part_that_replaces_one_which_stays_is_added() -> None:
    new = made(
        {
            "parts/all.toml": (
                "[part.RES]",
                '[part.RES-2]\nreplaces = "RES"\ninterchange = "both ways"\n[part.RES]',
            )
        }
    )
    found = compare(made(), new, DAYS)
    assert [(item.sign, item.number, item.was) for item in found.items] == [("added", "RES-2", "")]
    assert found.questions == ()


def test_item_reused_for_another_part() -> None:
    new = made({"assemblies/board.toml": ('part = "RES"', 'part = "CELL"')})
    (fault,) = item_reused(made(), new)
    assert fault.message == 'item 20 of BOARD was "RES" and now is "CELL"'
    assert (fault.index, fault.facts) == (1, ("RES", "CELL"))
    assert compare(made(), new, DAYS).reused == (fault,)


def test_same_part_on_another_item_is_no_reuse() -> None:
    gone = product(FILES | {"assemblies/board.toml": BOARD.replace("item = 20", "item = 21")})
    assert list(item_reused(made(), gone)) == []


# --- sources and supply -------------------------------------------------------------------------------


def test_price_breaks_of_a_source() -> None:
    found = changed(
        "parts/all.toml",
        "{ from = 5000, each = 0.0058 }",
        "{ from = 5000, each = 0.0060 }, { from = 10000, each = 0.005 }",
    )
    (source,) = found.sources
    assert [(c.path, c.sort) for c in source.fields] == [
        (("price", ("5000",), "each"), "value"),
        (("price", ("10000",)), "entry"),
    ]
    assert found.kinds == {"money": ("CAP",)}
    assert found.supply == ()


def test_currency_is_one_fact_though_prices_lean_on_it() -> None:
    (source,) = changed("parts/all.toml", 'currency = "USD"', 'currency = "EUR"').sources
    assert facts(source.fields) == [(("currency",), "USD", "EUR")]


def test_terms_of_a_source() -> None:
    found = changed(
        "parts/all.toml",
        "moq = 1000",
        'moq = 2000\nmultiple = 500\nrank = 1\nshare = "70 %"\nvalid_until = 2027-01-31',
    )
    assert [change.path[0] for change in found.sources[0].fields] == [
        "rank",
        "share",
        "valid_until",
        "moq",
        "multiple",
    ]
    assert found.kinds == {"money": ("CAP",), "supplier": ("CAP",)}


def test_source_of_the_same_firms_with_another_article_is_changed() -> None:
    (source,) = changed("parts/all.toml", '"DN1"', '"DN2"').sources
    assert facts(source.fields) == [(("maker_part",), "DN1", "DN2")]


def test_denied_second_source_makes_a_part_sole_source() -> None:
    two = PARTS.replace('status = "approved"\nplant', 'status = "denied"\nplant')
    found = compare(made(), product(FILES | {"parts/all.toml": two}), DAYS)
    (row,) = found.supply
    assert (row.number, row.news) == ("CAP", ("newly sole-source", "second source gone"))
    back = compare(product(FILES | {"parts/all.toml": two}), made(), DAYS)
    assert back.supply[0].news == ("no longer sole-source", "second source approved")


def test_second_source_that_shares_a_maker_or_plant() -> None:
    maker = changed("parts/all.toml", 'maker = "dunlin"', 'maker = "ashfield"').supply[0]
    assert maker.news == ("newly sole-source", "all sources now one maker")
    both = PARTS.replace('maker_part = "AC1"', 'maker_part = "AC1"\nplant = "Dunlin fab 2"')
    plant = compare(made(), product(FILES | {"parts/all.toml": both}), DAYS).supply[0]
    assert plant.news == ("all sources now one plant",)


def test_sole_source_part_that_only_moves_is_no_news() -> None:
    cell = '[[part.CELL.source]]\nmaker = "dunlin"\nseller = "mirefen"\nstatus = "approved"\n'
    old = product(FILES | {"parts/all.toml": PARTS + cell})
    rest, moved = (PARTS + cell).split("[part.CELL]")
    new = product(FILES | {"parts/all.toml": rest, "parts/cell.toml": "[part.CELL]" + moved})
    found = compare(old, new, DAYS)
    assert found.supply == ()
    # CELL and WIRE, which stands behind it
    assert len(found.hidden.moved) == 2


def test_new_sole_source_part_is_news() -> None:
    new = '[part.NEW]\nclass = "electrical"\n[[part.NEW.source]]\nmaker = "dunlin"\nseller = "mirefen"\nstatus = "approved"\n'
    line = '[[line]]\nitem = 40\npart = "NEW"\nqty = 1\n'
    found = compare(
        made(), product(FILES | {"parts/new.toml": new, "assemblies/board.toml": BOARD + line}), DAYS
    )
    assert [(row.number, row.news) for row in found.supply] == [("NEW", ("newly sole-source",))]


def test_alternate_that_loses_its_maker_makes_the_part_sole_source() -> None:
    res = '[part.RES]\nclass = "electrical"\n[[part.RES.source]]\nmaker = "ashfield"\nstatus = "approved"\n'
    sub = '[part.SUB]\n[[part.SUB.source]]\nmaker = "dunlin"\nstatus = "approved"\n'
    board = BOARD.replace(
        'part = "RES"', 'part = "RES"\nalternates = [{ part = "SUB", approved = 2026-09-30 }]'
    )
    parts = PARTS.replace('[part.RES]\nclass = "electrical"\n', res) + sub
    files = FILES | {"parts/all.toml": parts, "assemblies/board.toml": board}
    denied = files | {"parts/all.toml": parts.replace(sub, sub.replace("approved", "denied"))}
    found = compare(product(files), product(denied), DAYS)
    assert [(row.number, row.news) for row in found.supply] == [
        ("RES", ("newly sole-source",)),
        ("SUB", ("no approved source left",)),
    ]


def test_part_that_is_bought_only_since_a_price_leaves_it_out_is_news() -> None:
    sub = '[assembly]\nid = "SUB"\n[assembly.price]\ntier = [{ from = 1, each = 2 }]\n{out}[[line]]\nitem = 10\npart = "ONE"\nqty = 1\n'
    one = '[part.ONE]\n[[part.ONE.source]]\nmaker = "dunlin"\nstatus = "approved"\n'
    line = '[[line]]\nitem = 40\npart = "SUB"\nqty = 1\n'
    files = FILES | {"parts/one.toml": one, "assemblies/board.toml": BOARD + line}
    sides = [
        product(files | {"assemblies/sub.toml": sub.replace("{out}", out)})
        for out in ("", 'excludes = ["ONE"]\n')
    ]
    found = compare(sides[0], sides[1], DAYS)
    assert [(row.number, row.news) for row in found.supply] == [("ONE", ("newly sole-source",))]


# --- other records ------------------------------------------------------------------------------------


def test_records_go_by_their_natural_key() -> None:
    for old, new, kind, name, path in (
        ('name = "Norholt"', 'name = "Norholt Ltd"', "firm", ("norholt",), ("name",)),
        ('kind = "direct"', 'kind = "direct"\nmargin = "3 %"', "channel", ("web",), ("margin",)),
        ('rate = "2 %"', 'rate = "3 %"', "duty", ("EU", "85198100"), ("rate",)),
        ("1 EUR = 1.08 USD", "1 EUR = 1.10 USD", "rate", ("EUR/USD",), ("rate",)),
    ):
        (record,) = changed("firms/all.toml", old, new).records
        assert (record.kind, record.name, [change.path for change in record.fields]) == (kind, name, [path])


def test_what_a_product_states_once() -> None:
    found = changed("product.toml", '"dvt"', '"pvt"')
    assert [(r.kind, facts(r.fields)) for r in found.records] == [("product", [(("stage",), "dvt", "pvt")])]
    policy = changed("product.toml", "[role.safety]", '[policy]\nquote_max_age = "60 days"\n[role.safety]')
    assert [(r.kind, facts(r.fields)) for r in policy.records] == [
        ("policy", [(("quote_max_age",), "90 days", "60 days")])
    ]


def test_plan_counts_tools_and_calendars() -> None:
    more = {
        "plans/p.toml": '[plan]\nid = "p"\nstart = 2026-11-30\nend = "week 20"\n[[build]]\nname = "b"\nsku = "TOP"\nqty = 100\n',
        "counts/c.toml": '[[stock]]\npart = "CAP"\nplace = "norholt"\nqty = 10\ncounted = 2026-11-01\n',
        "tools/t.toml": '[tool.M1]\nname = "Mould"\nkind = "mould"\nmakes = ["RES"]\namount = "100 EUR"\n',
        "product.toml": HEAD
        + '[calendar.south]\n[[calendar.south.closures]]\nname = "new year"\nfrom = 2027-02-01\nto = 2027-02-19\n',
    }
    old = FILES | more
    new = dict(old)
    for file, text, other in (
        ("plans/p.toml", "qty = 100", "qty = 120"),
        ("counts/c.toml", "qty = 10\n", "qty = 12\n"),
        ("tools/t.toml", "100 EUR", "120 EUR"),
        ("product.toml", "2027-02-19", "2027-02-21"),
    ):
        new[file] = new[file].replace(text, other)
    found = compare(product(old), product(new), DAYS)
    assert [(r.kind, r.name, [change.path for change in r.fields]) for r in found.records] == [
        ("tool", ("M1",), [("amount",)]),
        ("plan", ("p",), [("build", ("b",), "qty")]),
        ("calendar", ("south",), [("closures", ("new year",), "to")]),
        ("stock", ("CAP", "norholt"), [("qty",)]),
    ]
    assert found.reach.skus == ("TOP",)  # the mould makes RES


# --- reach, compliance, approvals ---------------------------------------------------------------------


def test_reach_is_taken_from_both_sides() -> None:
    found = changed("parts/all.toml", "[part.RES]", '[part.RES]\nvalue = "4k7"')
    assert found.reach.touched == ("RES",)
    assert (found.reach.assemblies, found.reach.skus, found.reach.untouched_skus) == (
        ("BOARD",),
        ("TOP",),
        ("OTHER",),
    )
    # RES is taken out of BOARD and changed: what it was in is reached still
    new = made(
        {
            "parts/all.toml": ("[part.RES]", '[part.RES]\nvalue = "4k7"'),
            "assemblies/top.toml": ('"BOARD"', '"CAP"'),
        }
    )
    assert compare(made(), new, DAYS).reach.skus == ("TOP",)


def test_safety_critical_part_touched() -> None:
    found = changed("parts/all.toml", '"KV-26"', '"KV-30"')
    (touch,) = found.safety
    assert (touch.number, touch.before, touch.after, touch.where) == ("CELL", True, True, ("record",))
    assert [(row.state, row.change.path) for row in found.evidence] == [
        ("touched", ("battery", "cell_model"))
    ]
    assert [(q.kind, q.facts) for q in found.questions] == [
        ("form-fit-function", ("battery",)),
        ("battery tests", ("cell_model",)),
        ("safety approval", ("record",)),
    ]
    assert found.kinds["safety"] == ("CELL",)
    need = needs(found.after, found.kinds)[0]
    assert (need.kind, need.roles) == ("safety", ("safety",))
    assert needs(found.after, {"money": ("CAP",)})[0].roles == ()


def test_new_approval_answers_the_safety_question() -> None:
    approval = '\napproval = [{ role = "safety", by = "m.tarn", date = 2026-11-20 }]\nbattery'
    two = PARTS.replace("KV-26", "KV-30").replace("\nbattery", approval)
    found = compare(made(), product(FILES | {"parts/all.toml": two}), DAYS)
    assert "safety approval" not in [question.kind for question in found.questions]
    assert [row.state for row in found.evidence] == ["new", "touched"]


def test_lost_test_summary_is_evidence_lost() -> None:
    found = changed("parts/all.toml", ', test_summary = "docs/un383.txt"', "")
    assert [(row.number, row.state, row.change.before) for row in found.evidence] == [
        ("CELL", "lost", "docs/un383.txt")
    ]


def test_origin_that_changes_a_duty() -> None:
    # the record for VN says 0 %, the one for any origin 2 %
    found = changed("assemblies/top.toml", '"VN"', '"CN"')
    (duty,) = found.duties
    assert (duty.number, duty.destination, duty.origins) == ("TOP", "EU", (("VN",), ("CN",)))
    assert [[str(rate) for rate in rates] for rates in duty.rates] == [["0 %"], ["2 %"]]
    old = made({"assemblies/top.toml": ('"VN"', '"PH"')})
    assert compare(old, made({"assemblies/top.toml": ('"VN"', '"CN"')}), DAYS).duties == ()


def test_document_with_another_content() -> None:
    paper = '[part.RES]\ndocument = [{ kind = "drawing", file = "docs/r.txt" }]\n'
    one = made({"parts/all.toml": ("[part.RES]", paper)})
    old, new = (msgspec.structs.replace(one, digests={"docs/r.txt": digest * 64}) for digest in "ab")
    (document,) = compare(old, new, DAYS).documents
    assert (document.file, document.owners, document.before, document.after) == (
        "docs/r.txt", (("part", "RES"),), "a" * 64, "b" * 64,
    )  # fmt: skip
    found = compare(old, new, DAYS)
    assert not found.is_empty
    assert found.reach.skus == ("TOP",)
    assert [(q.kind, q.subject) for q in found.questions] == [("form-fit-function", "RES")]
    gone = compare(old, msgspec.structs.replace(one, digests={}), DAYS).documents[0]
    assert gone.after is None


def test_form_fit_function_question_needs_the_same_revision() -> None:
    kinds = [q.kind for q in changed("parts/all.toml", 'rev = "A"', 'rev = "A"\npackage = "0805"').questions]
    assert kinds == ["form-fit-function"]
    assert changed("parts/all.toml", 'rev = "A"', 'rev = "B"\npackage = "0805"').questions == ()
    assert changed("parts/all.toml", 'rev = "A"', 'rev = "A"\nnote = "hello"').questions == ()
    assert changed("parts/all.toml", "moq = 1000", "moq = 1").questions == ()


def test_certificate_of_what_changed_inside_and_new_market() -> None:
    tool = '[tool.C1]\nname = "Radio"\nkind = "certification"\nmakes = ["TOP"]\n'
    old = FILES | {"tools/c.toml": tool}
    new = old | {
        "assemblies/board.toml": BOARD.replace("qty = 2", "qty = 3").replace('rev = "A"', 'rev = "B"')
    }
    found = compare(product(old), product(new), DAYS)
    assert [(q.kind, q.subject, q.facts) for q in found.questions] == [("certificate", "C1", ("BOARD",))]
    market = changed("product.toml", '["EU"]', '["EU", "GB"]')
    assert [(q.kind, q.subject) for q in market.questions] == [("market", "GB")]


# --- waivers ------------------------------------------------------------------------------------------


WAIVER = '[[waiver]]\nrule = "sole-source"\nsubject = "part/CAP"\nreason = "one maker"\nuntil = 2026-12-31\n'
LATER = dt.date(2027, 1, 15)


def waived(old: str, new: str, days: tuple[dt.date, dt.date] = DAYS) -> list[tuple[str, ...]]:
    sides = [product(FILES | ({"waivers/w.toml": text} if text else {})) for text in (old, new)]
    return [change.events for change in compare(sides[0], sides[1], days).waivers]


def test_waivers_opened_closed_renewed_expired() -> None:
    renewed = WAIVER.replace("2026-12-31", "2027-06-30") + "renewals = 1\n"
    assert waived("", WAIVER) == [("opened",)]
    assert waived(WAIVER, "") == [("closed",)]
    assert waived(WAIVER, renewed) == [("renewed",)]
    assert waived(WAIVER, WAIVER) == []
    assert waived(WAIVER, WAIVER, (TODAY, LATER)) == [("expired",)]
    assert waived(WAIVER, renewed, (TODAY, LATER)) == [("renewed",)]
    assert waived(WAIVER, renewed, (LATER, LATER)) == [("renewed", "in force again")]
    assert waived(WAIVER, WAIVER.replace("one maker", "only one"), DAYS) == [("changed",)]
    assert waived("", WAIVER, (TODAY, LATER)) == [("opened", "expired")]


def test_waiver_of_a_quantity_expires_when_more_are_made() -> None:
    limited = WAIVER.replace("until = 2026-12-31", "quantity = 50")
    counts = '[[made]]\nsku = "TOP"\nfactory = "norholt"\ngood = {good}\ndate = 2026-11-01\n'
    assert waived(limited, limited.replace("50", "80")) == [("renewed",)]
    sides = [
        product(FILES | {"waivers/w.toml": limited, "counts/m.toml": counts.format(good=g)}) for g in (50, 51)
    ]
    assert [change.events for change in compare(sides[0], sides[1], DAYS).waivers] == [("expired",)]
