#!/usr/bin/env python3
"""Which units of src/ have a test of their name.

A unit is a source (or a header without a source) of src/FOLDER. It is tested by
tests/FOLDER/UNIT_test.cpp, by a TEST_SUITE("FOLDER/UNIT"), or by a test file that says so in a comment
`// Covers: folder/unit, ...`.
Fails when more units than the bound have neither, or a comment names a unit that does not exist. The
bound only ever goes down.

    units_test.py ROOT BOUND
    units_test.py --self-test
"""
import pathlib
import re
import sys

SUITE = re.compile(r'TEST_SUITE\("(\w+/\w+)"\)')
COVERS = re.compile(r"^// Covers: (.+)$", re.MULTILINE)
NOT_UNITS = {"cli/main"}


def units_of(paths):
    """paths: relative to src. Headers count where no source stands beside them."""
    stems = {path.rsplit(".", 1)[0] for path in paths if path.count("/") == 1}
    return stems - NOT_UNITS


def covered_by(tests):
    """tests: path relative to tests -> text. @return the units that comments name."""
    names = set()
    for text in tests.values():
        for line in COVERS.findall(text):
            names.update(name.strip() for name in line.split(","))
    return names


def report(units, tests):
    named = {path[: -len("_test.cpp")] for path in tests if path.endswith("_test.cpp")}
    for text in tests.values():
        named.update(SUITE.findall(text))
    covered = covered_by(tests)
    return sorted(units - named - covered), sorted(covered - units)


def self_test():
    units = units_of(["a/x.cpp", "a/x.h", "a/y.h", "cli/main.cpp", "a/b/deep.cpp"])
    assert units == {"a/x", "a/y"}, units
    assert report(units, {"a/x_test.cpp": ""}) == (["a/y"], [])
    assert report(units, {"a/x_test.cpp": 'TEST_SUITE("a/y") {'}) == ([], [])
    assert report(units, {"a/x_test.cpp": "// Covers: a/y, a/z\n"}) == ([], ["a/z"])


def main(arguments):
    if arguments == ["--self-test"]:
        self_test()
        return 0
    root, bound = pathlib.Path(arguments[0]), int(arguments[1])
    source, folder = root / "src", root / "tests"
    units = units_of([str(p.relative_to(source)) for p in source.rglob("*") if p.suffix in (".cpp", ".h")])
    tests = {str(p.relative_to(folder)): p.read_text() for p in folder.rglob("*_test.cpp")}
    untested, unknown = report(units, tests)
    for name in unknown:
        print(f"a comment says that it covers {name}: there is no such unit")
    print(f"{len(units) - len(untested)} of {len(units)} units have a test of their name or are named by one.")
    print("Without: " + ", ".join(untested))
    if len(untested) > bound:
        print(f"more than {bound}: give the new ones tests of their name")
    return 1 if unknown or len(untested) > bound else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
