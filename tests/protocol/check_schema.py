#!/usr/bin/env python3
"""Holds recorded logs (.jsonl) and plans (.json) against the JSON Schemas in protocol/.

The validator is the jsonschema package (Debian: python3-jsonschema), so that a reader we did not
write says whether logs, plans and schemas agree.

  check_schema.py FILE...               every event and plan must hold; faults are named by line
  check_schema.py --each-broken FILE... every line must fail at the member its own "breaks" names

Exit code: 0 all as it should be, 1 a fault, 2 the validator or a file is missing.
"""

import argparse
import codecs
import json
import math
import pathlib
import sys
import warnings

try:
    import jsonschema
except ImportError:
    print("the Python package jsonschema is missing: apt-get install python3-jsonschema", file=sys.stderr)
    sys.exit(2)

# Debian 12 has jsonschema 4.10, whose way to name a second schema is RefResolver; later ones warn of it.
warnings.filterwarnings("ignore", category=DeprecationWarning)

SCHEMAS = pathlib.Path(__file__).resolve().parents[2] / "protocol"


def validators():
    """The validators of an event and of a plan."""
    schemas = [json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")) for name in ("event", "plan")]
    for schema in schemas:
        jsonschema.Draft202012Validator.check_schema(schema)
    store = {schema["$id"]: schema for schema in schemas}
    return [
        jsonschema.Draft202012Validator(schema, resolver=jsonschema.RefResolver.from_schema(schema, store=store))
        for schema in schemas
    ]


def number(text):
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(f"{text} is not a finite number")
    return value


def parse(line):
    """JSON from bytes, held to what JSON itself says: UTF-8, finite numbers."""
    return json.loads(line.decode("utf-8"), parse_float=number, parse_constant=number)


def member(error):
    """Where a fault is, as "fact.counts[1].count"; a missing or unwanted member is named itself."""
    path = list(error.absolute_path)
    if error.validator == "required":
        path += [name for name in error.validator_value if name not in error.instance][:1]
    elif "propertyNames" in error.absolute_schema_path:
        path.append(error.instance)
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text


def faults(validator, value):
    """Each fault as (member, what is wrong), in the order of the members."""
    found = {(member(error), error.message) for error in validator.iter_errors(value)}
    return sorted((where, what if len(what) <= 160 else what[:157] + "...") for where, what in found)


def hold(path, event, plan):
    """Yields the faults of a log or plan as lines of text."""
    if path.suffix == ".jsonl":
        for count, line in enumerate(path.read_bytes().removeprefix(codecs.BOM_UTF8).splitlines(), 1):
            if not line.strip():
                continue
            try:
                value = parse(line)
            except ValueError as error:
                yield f"line {count}: not JSON: {error}"
                continue
            for where, what in faults(event, value):
                yield f'line {count}: "{where}": {what}'
    else:
        try:
            value = parse(path.read_bytes())
        except ValueError as error:
            yield f"not JSON: {error}"
            return
        for where, what in faults(plan, value):
            yield f'"{where}": {what}'


def hold_broken(path, event):
    """Yields the lines that do not fail where they say they do."""
    for count, line in enumerate(path.read_bytes().splitlines(), 1):
        value = parse(line)
        where = [name for name, _ in faults(event, value)]
        if value["breaks"] not in where:
            yield f'line {count}: should fail at "{value["breaks"]}", fails at {where or "nothing"}'


def main():
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--each-broken", action="store_true", help='every line must fail where its "breaks" says')
    options.add_argument("files", nargs="+", type=pathlib.Path, metavar="FILE")
    given = options.parse_args()

    event, plan = validators()
    bad = 0
    for path in given.files:
        try:
            found = list(hold_broken(path, event) if given.each_broken else hold(path, event, plan))
        except OSError as error:
            print(f"{path}: {error.strerror}", file=sys.stderr)
            return 2
        for fault in found:
            print(f"{path}: {fault}")
        print(f"{path}: {len(found) or 'no'} fault{'' if len(found) == 1 else 's'}")
        bad += len(found)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
