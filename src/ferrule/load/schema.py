"""JSON Schemas of the file kinds, and what they say of a file that does not fit.

The schemas are made from the records, so that editors, documents and the reader cannot disagree. The
reader itself never needs this module for a good file; a bad one is explained with jsonschema.
"""

from __future__ import annotations

import datetime as dt
import json
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import msgspec

from ferrule.diagnostics.finding import Path
from ferrule.load.kinds import KINDS
from ferrule.load.misfit import Misfit, path_order
from ferrule.load.toml_text import value_text
from ferrule.load.values import VALUES, ValueKind
from ferrule.model.bad_value import BadValue
from ferrule.model.records.about import Record
from ferrule.model.text import nearest, quoted, visible
from ferrule.model.value import Value

__all__ = ["explain", "json_schema", "schema_text"]

BASE = "https://ferrule.invalid/schema/"
_INLINE = "x-value"
_LISTED = 15
_ID_HINT = "use letters, digits and . _ + - (at most 64, a letter or digit first)"
#: Keys people expect → ours, for hints.
_MEANT = {
    "quantity": "qty", "amount": "qty", "count": "qty", "number": "id", "title": "name", "description": "name",
    "refdes": "designators", "type": "class", "category": "class", "supplier": "seller", "vendor": "seller",
    "manufacturer": "maker", "mpn": "maker_part", "leadtime": "lead_time", "revision": "rev",
}  # fmt: skip
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}$")

_TITLES = {
    "product": "product.toml: the product, its policy, conventions, calendars and roles",
    "parts": "parts/*.toml: part records with their sources",
    "assembly": "assemblies/*.toml: one assembly with its lines, steps and sale",
    "firms": "firms/*.toml: firms, channels, lanes, duty and exchange rates",
    "tools": "tools/*.toml: tools and other one-off costs",
    "plan": "plans/*.toml: one plan with builds, sales, money and scenarios",
    "counts": "counts/*.toml: stock, open orders, consigned movements, units made",
    "waivers": "waivers/*.toml: accepted findings",
    "asbuilt": "frozen/NAME.asbuilt.toml: serial numbers, lots and results of a frozen build",
    "disclosures": "disclosures/*.toml: requests for quotes as they were sent",
}


# --- making the schemas ------------------------------------------------------------------------------


def _value_schema(value_type: type) -> dict[str, Any]:
    return {"$ref": f"#/$defs/{VALUES[value_type].name}"}


def _value_def(kind: ValueKind) -> dict[str, Any]:
    types = list(kind.json_types)
    made: dict[str, Any] = {"description": kind.description, "type": types if len(types) > 1 else types[0]}
    if "string" in types and kind.pattern:
        made["pattern"] = kind.pattern
    if kind.not_negative and "number" in types:
        made["minimum"] = 0
    if kind.or_day:  # a bare TOML date is text of the format date to every checker
        del made["type"], made["pattern"]
        made["anyOf"] = [{"type": "string", "format": "date"}, {"type": "string", "pattern": kind.pattern}]
    made["examples"] = list(kind.examples)
    return made


def _tidy(node: Any) -> Any:
    """Return a schema without what TOML cannot say (null) and without defaults that only mean "not stated"."""
    if isinstance(node, list):
        return [_tidy(item) for item in node]
    if not isinstance(node, dict):
        return node
    made = {key: _tidy(value) for key, value in node.items()}
    options = [o for o in made.pop("anyOf", []) if o != {"type": "null"}]
    if len(options) == 1:
        made = options[0] | made
    elif options:
        made["anyOf"] = options
    if made.get("default", 0) in (None, [], {}, ()) or (
        "default" in made and not isinstance(made["default"], bool | int | str)
    ):
        del made["default"]
    if made.get("type") == "object" and not {"properties", "additionalProperties"} & set(made):
        made["additionalProperties"] = True
    if made.get("required") == []:
        del made["required"]
    return made


def json_schema(kind: str) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a file kind; every property has a description."""
    (_, found) = msgspec.json.schema_components(
        [KINDS[kind]], schema_hook=_value_schema, ref_template="#/$defs/{name}"
    )
    defs = {name: _tidy(node) for name, node in found.items()}
    for record in _records(Record):
        if record.__name__ in defs:
            for name, default in _written_defaults(record):
                defs[record.__name__]["properties"][name]["default"] = default
    top = defs.pop(KINDS[kind].__name__)
    used = json.dumps([top, defs])
    for value in VALUES.values():
        if f'"#/$defs/{value.name}"' in used:
            defs[value.name] = _value_def(value)
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"{BASE}{kind}.schema.json",
        "title": _TITLES[kind],
        "description": f"A Ferrule file of kind {kind}, TOML 1.0.",
    }
    top.pop("title", None)
    top.pop("description", None)
    made: dict[str, Any] = head | top | {"$defs": dict(sorted(defs.items()))}
    return made


def _records(base: type[Record]) -> Iterator[type[Record]]:
    for record in base.__subclasses__():
        yield record
        yield from _records(record)


def _written_defaults(record: type[Record]) -> Iterator[tuple[str, Any]]:
    """Yield the defaults that are written values, as they would be written."""
    for field in msgspec.structs.fields(record):
        value = field.default_factory() if field.default_factory is not msgspec.NODEFAULT else None
        if isinstance(value, Value):
            yield field.encode_name, str(value)
        elif isinstance(value, Decimal):
            yield field.encode_name, int(value)


def schema_text(kind: str) -> str:
    """Return the schema as it is committed and shipped: two blanks indent, final newline."""
    return json.dumps(json_schema(kind), indent=2, ensure_ascii=False, default=str) + "\n"


# --- explaining a misfit -----------------------------------------------------------------------------


def _read_day(written: Any) -> dt.date:
    """Return a day, bare or in quotes; raises BadValue."""
    if isinstance(written, dt.date) and not isinstance(written, dt.datetime):
        return written
    try:
        return dt.date.fromisoformat(written)
    except (TypeError, ValueError):
        raise BadValue(f"{_in_words(written)} is not a day", ("2026-10-01",)) from None


def _with_parsers(node: Any) -> Any:
    """Return the schema with days and written values judged by our parsers, as TOML knows dates and JSON does not."""
    if isinstance(node, list):
        return [_with_parsers(item) for item in node]
    if not isinstance(node, dict):
        return node
    if node.get("format") == "date":
        return {_INLINE: "day", "examples": node.get("examples", [])}
    made = {key: _with_parsers(value) for key, value in node.items()}
    for value in VALUES.values():
        if value.name in made.get("$defs", {}):
            made["$defs"][value.name] = {_INLINE: value.name}
    return made


def explain(kind: str, tree: dict[str, Any]) -> list[Misfit]:
    """Return everything in the tree that does not fit its kind, in the order of the schema's walk."""
    validator = _validator(kind)
    misfits = [misfit for error in validator.iter_errors(tree) for misfit in _misfits(error, tree)]
    return sorted(set(misfits), key=lambda m: (path_order(m.path), m.rule, m.message))


def _validator(kind: str) -> Any:
    import jsonschema  # noqa: PLC0415  only a file that does not fit needs it
    import referencing  # noqa: PLC0415

    def is_number(_checker: object, value: object) -> bool:
        return isinstance(value, int | Decimal) and not isinstance(value, bool)

    def is_integer(_checker: object, value: object) -> bool:
        return isinstance(value, int) and not isinstance(value, bool)

    base = jsonschema.Draft202012Validator
    checker = base.TYPE_CHECKER.redefine_many({"number": is_number, "integer": is_integer})
    extended = jsonschema.validators.extend(  # type: ignore[no-untyped-call]
        base, {_INLINE: _check_value}, type_checker=checker
    )
    return extended(_with_parsers(json_schema(kind)), registry=referencing.Registry())


_PARSERS: dict[str, Callable[[Any], object]] = {"day": _read_day} | {
    value.name: value.read for value in VALUES.values()
}


def _check_value(_validator: Any, name: str, instance: Any, _schema: Any) -> Iterator[Any]:
    import jsonschema  # noqa: PLC0415

    try:
        _PARSERS[name](instance)
    except BadValue as error:
        yield jsonschema.ValidationError(error.message, cause=error)


def _misfits(error: Any, tree: dict[str, Any]) -> Iterator[Misfit]:
    path: Path = tuple(error.absolute_path)
    named = "propertyNames" in list(error.absolute_schema_path)[-2:]
    handler = _bad_name if named else _HANDLERS.get(error.validator)
    if handler is None:
        yield Misfit(rule="wrong-type", path=path, message=error.message)
        return
    yield from handler(error, path, _written(tree, path))


def _written(tree: Any, path: Path) -> Any:
    for key in path:
        tree = tree[key]
    return tree


def _key_in_words(path: Path) -> str:
    names = [key for key in path if isinstance(key, str)]
    return f"`{names[-1]}`" if names else "the file"


def _extra(error: Any, path: Path, _value: Any) -> Iterator[Misfit]:
    known = list(error.schema.get("properties", {}))
    for key in error.instance:
        if key in known:
            continue
        best = (
            _MEANT.get(key.casefold())
            if _MEANT.get(key.casefold()) in known
            else nearest(key, known, likeness=0.7)
        )
        more = f" and {len(known) - _LISTED} more" if len(known) > _LISTED else ""
        hint = f"did you mean `{best}`?" if best else f"known here: {', '.join(known[:_LISTED])}{more}"
        yield Misfit(
            rule="unknown-key",
            path=(*path, key),
            message=f"`{visible(key, 80)}` is no key of {_table(path)}",
            hint=hint,
            on_key=True,
        )


def _table(path: Path) -> str:
    names = [key for key in path if isinstance(key, str)]
    return f"this {names[-1] if len(names) != 2 else names[0]} table" if names else "this file"


def _missing(error: Any, path: Path, value: Any) -> Iterator[Misfit]:
    for key in error.validator_value:
        if key in value:
            continue
        example = (error.schema["properties"][key].get("examples") or [None])[0]
        table = "$ref" in error.schema["properties"][key] or "object" in str(
            error.schema["properties"][key].get("type")
        )
        hint = f"add [{key}]" if table and example is None else "add it"
        if example is not None:
            hint = f"add it, such as {key} = {toml_value(example)}"
        message = f"`{key}` is missing in {_table(path)}"
        yield Misfit(rule="missing-key", path=(*path, key), message=message, hint=hint, on_key=True)


_TYPE_WORDS = {
    "string": "text in quotes",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "array": "a list in [ ]",
    "object": "a table",
}


def _in_words(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return f"the text {quoted(value)}"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    return str(value)


def _wrong_type(error: Any, path: Path, value: Any) -> Iterator[Misfit]:
    wanted = _TYPE_WORDS[error.validator_value]
    example = (error.schema.get("examples") or [None])[0]
    hint = ""
    if example is not None and path and isinstance(path[-1], str):
        hint = f"write {path[-1]} = {toml_value(example)}"
    message = f"{_key_in_words(path)} must be {wanted}, not {_in_words(value)}"
    yield Misfit(rule="wrong-type", path=path, message=message, hint=hint)


def _not_a_choice(error: Any, path: Path, value: Any) -> Iterator[Misfit]:
    choices = error.schema.get("enum", [error.validator_value])
    words = [choice for choice in choices if isinstance(choice, str)]
    best = nearest(value, words) if isinstance(value, str) else None
    known = ", ".join(toml_value(choice) for choice in choices)
    hint = f"did you mean {toml_value(best)}?" if best else f"known: {known}"
    message = f"{_key_in_words(path)} cannot be {_in_words(value)}"
    yield Misfit(rule="not-a-choice", path=path, message=message, hint=hint)


def _malformed(error: Any, path: Path, value: Any) -> Iterator[Misfit]:
    cause = error.cause
    if isinstance(cause, BadValue):
        hint = "write " + " or ".join(toml_value(form) for form in cause.forms) if cause.forms else ""
        yield Misfit(
            rule="malformed-value", path=path, message=f"{_key_in_words(path)}: {cause.message}", hint=hint
        )
        return
    example = (error.schema.get("examples") or [None])[0]
    words = {
        "pattern": "cannot be an identifier",
        "minLength": "is empty",
        "maxLength": "is too long",
    }
    hint = f"such as {toml_value(example)}" if example else ""
    message = f"{_key_in_words(path)}: {_in_words(value)} {words[error.validator]}"
    if error.validator == "pattern":
        hint = _ID_HINT
    elif error.validator == "minLength":
        message = f"{_key_in_words(path)} is empty"
    yield Misfit(rule="malformed-value", path=path, message=message, hint=hint)


def _too_small(error: Any, path: Path, value: Any) -> Iterator[Misfit]:
    message = f"{_key_in_words(path)} must be at least {error.validator_value}, not {_in_words(value)}"
    yield Misfit(rule="malformed-value", path=path, message=message)


def _bad_name(error: Any, path: Path, _value: Any) -> Iterator[Misfit]:
    name = f"`{visible(error.instance, 80)}`" if error.instance else "an empty name"
    message = f"{name} cannot be an identifier"
    yield Misfit(
        rule="malformed-value", path=(*path, error.instance), message=message, hint=_ID_HINT, on_key=True
    )


def _one_of(error: Any, path: Path, value: Any) -> Iterator[Misfit]:
    causes = [e for e in error.context if isinstance(e.cause, BadValue)]
    if causes:
        yield from _malformed(causes[0], path, value)
    else:
        yield Misfit(
            rule="wrong-type", path=path, message=f"{_key_in_words(path)} cannot be {_in_words(value)}"
        )


_HANDLERS: dict[str, Callable[[Any, Path, Any], Iterator[Misfit]]] = {
    "additionalProperties": _extra,
    "required": _missing,
    "type": _wrong_type,
    "enum": _not_a_choice,
    "const": _not_a_choice,
    "pattern": _malformed,
    "minLength": _malformed,
    "maxLength": _malformed,
    "minimum": _too_small,
    _INLINE: _malformed,
    "propertyNames": _bad_name,
    "anyOf": _one_of,
}


def toml_value(value: Any) -> str:
    """Return a JSON-like value as TOML text on one line; JSON has days as texts, and examples are floats."""
    return value_text(_typed(value))


def _typed(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _typed(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_typed(item) for item in value]
    if isinstance(value, float):
        return Decimal(str(value))
    return dt.date.fromisoformat(value) if isinstance(value, str) and _DAY.match(value) else value
