#!/usr/bin/env python3
"""Reads the include graph of src/ and fails on an include that goes upward or in a circle.

Folders may include only `core` and what stands before them in src/CMakeLists.txt. Units (a header and
the source beside it) of all folders together must form a graph without circles.

    includes_test.py SOURCE_FOLDER      exit status 0: holds; 1: each violation on a line
    includes_test.py --self-test        shows that a violation of each kind is found
"""
import pathlib
import re
import sys

INCLUDE = re.compile(r'^\s*#\s*include\s+"([\w/]+)\.h"', re.MULTILINE)
FOLDER = re.compile(r"^\s*add_subdirectory\((\w+)\)", re.MULTILINE)


def folder_order(cmake_lists):
    return FOLDER.findall(cmake_lists)


def units_of(files):
    """files: path below src -> text. @return unit -> the units that it includes."""
    units = {}
    for path, text in files.items():
        unit = path.rsplit(".", 1)[0]
        included = units.setdefault(unit, set())
        included.update(name for name in INCLUDE.findall(text) if name != unit)
    return units


def upward(units, order):
    place = {folder: i for i, folder in enumerate(order)}
    for unit, included in sorted(units.items()):
        for other in sorted(included):
            here, there = unit.split("/")[0], other.split("/")[0]
            if here not in place or there not in place:
                yield f"{unit} includes {other}: a folder that src/CMakeLists.txt does not list"
            elif place[there] > place[here]:
                yield f"{unit} includes {other}: {there} stands after {here}"


def circles(units):
    """Strongly connected components of more than one unit (Tarjan 1972, SIAM J. Comput. 1, 146)."""
    number, low, stack, found = {}, {}, [], []

    def visit(unit):
        number[unit] = low[unit] = len(number)
        stack.append(unit)
        for other in sorted(units.get(unit, ())):
            if other not in number:
                visit(other)
                low[unit] = min(low[unit], low[other])
            elif other in stack:
                low[unit] = min(low[unit], number[other])
        if low[unit] == number[unit]:
            component = []
            while True:
                component.append(stack.pop())
                if component[-1] == unit:
                    break
            if len(component) > 1:
                found.append(sorted(component))

    sys.setrecursionlimit(10000)
    for unit in sorted(units):
        if unit not in number:
            visit(unit)
    return ["in a circle: " + ", ".join(component) for component in found]


def violations(files, order):
    units = units_of(files)
    return list(upward(units, order)) + circles(units)


def self_test():
    order = ["core", "align", "stack"]
    assert violations({"stack/a.cpp": '#include "align/b.h"', "align/b.h": ""}, order) == []
    up = violations({"align/b.h": '#include "stack/a.h"', "stack/a.h": ""}, order)
    assert len(up) == 1 and "stack stands after align" in up[0], up
    circle = violations({"align/a.cpp": '#include "align/b.h"', "align/b.h": '#include "align/a.h"'}, order)
    assert circle == ["in a circle: align/a, align/b"], circle
    unlisted = violations({"attic/a.h": '#include "core/b.h"'}, order)
    assert len(unlisted) == 1, unlisted


def main(arguments):
    if arguments == ["--self-test"]:
        self_test()
        return 0
    source = pathlib.Path(arguments[0])
    files = {
        str(path.relative_to(source)): path.read_text()
        for pattern in ("*/*.h", "*/*.cpp")
        for path in source.glob(pattern)
    }
    if len(files) < 100:
        print(f"{source}: only {len(files)} files found: the wrong folder?")
        return 1
    found = violations(files, folder_order((source / "CMakeLists.txt").read_text()))
    print("\n".join(found) if found else f"{len(files)} files: no include goes upward or in a circle")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
