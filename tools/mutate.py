#!/usr/bin/env python3
"""Puts deliberate bugs into a copy of the sources, one at a time, and reports which the tests notice.

    tools/mutate.py                    all of tests/mutants/*.toml
    tools/mutate.py stack align        those of these folders
    tools/mutate.py stack/crop-edge    this one
    tools/mutate.py --list             names, files, bugs and tests
    tools/mutate.py --check            does every bug still apply to the sources? (a test of ctest)

A bug is a table [[mutant]]: name, file, bug (one sentence), old and new text, tests. The old text stands in
the file exactly once; otherwise the mutant is stale. An entry of tests is a name of ctest, or NAME:SUITES to
run only these suites of its program, e.g. 'cli:cli/report,cli/part'.

The copy is build/mutants: the files that git knows or would add, as they are now. The sources themselves are
not touched. First the tests run without a bug, and must pass. Exit status: 0 if at least 95% are noticed and
no mutant is stale, otherwise 1.
"""

import argparse
import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time
import tomllib

ROOT = pathlib.Path(__file__).resolve().parent.parent
TABLES = ROOT / "tests" / "mutants"
COPY = ROOT / "build" / "mutants"
BUILD = COPY / "build" / "release"
LEAST_SHARE = 0.95
KEYS = {"name", "file", "bug", "old", "new", "tests"}


class Mutant:
    def __init__(self, folder, table):
        if set(table) != KEYS:
            raise SystemExit(f"{folder}.toml, {table.get('name', '?')}: keys must be {sorted(KEYS)}")
        self.folder = folder
        self.name = f"{folder}/{table['name']}"
        self.file, self.bug = table["file"], table["bug"]
        self.old, self.new, self.tests = table["old"], table["new"], table["tests"]

    def apply(self, text):
        """The text with the bug; None if the old text does not stand in it exactly once."""
        if text.count(self.old) != 1 or self.old == self.new:
            return None
        return text.replace(self.old, self.new)

    def is_stale(self):
        path = ROOT / self.file
        return not path.is_file() or self.apply(path.read_text()) is None


def read_tables():
    mutants = []
    for path in sorted(TABLES.glob("*.toml")):
        for table in tomllib.loads(path.read_text())["mutant"]:
            mutants.append(Mutant(path.stem, table))
    names = [mutant.name for mutant in mutants]
    for name in names:
        if names.count(name) > 1:
            raise SystemExit(f"{name}: two mutants have this name")
    return mutants


def chosen(mutants, wanted):
    for name in wanted:
        if not any(name in (mutant.name, mutant.folder) for mutant in mutants):
            raise SystemExit(f"no mutant and no folder is called '{name}'; see --list")
    return [m for m in mutants if not wanted or m.name in wanted or m.folder in wanted]


def write_if_other(path, content):
    """Leaves the time stamp, and with it what was built, where nothing changes."""
    if path.is_file() and path.read_bytes() == content:
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)


def update_copy():
    listed = subprocess.run(["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"], cwd=ROOT, check=True,
                            capture_output=True).stdout.decode().split("\0")
    files = {name for name in listed if name and (ROOT / name).is_file()}
    for name in files:
        write_if_other(COPY / name, (ROOT / name).read_bytes())
        shutil.copymode(ROOT / name, COPY / name)
    for path in COPY.rglob("*"):
        name = path.relative_to(COPY)
        if path.is_file() and name.parts[0] != "build" and str(name) not in files:
            path.unlink()


def run(command, log, seconds=None):
    """True if the command ends with 0 in time. Its output goes to the log."""
    with open(log, "wb") as out:
        try:
            return subprocess.run(command, cwd=BUILD, stdout=out, stderr=out, timeout=seconds, check=False).returncode == 0
        except subprocess.TimeoutExpired:
            return False


def configure():
    BUILD.mkdir(parents=True, exist_ok=True)
    command = ["cmake", "--preset", "release", "-S", str(COPY), "-DLULL_TESTS=ON", "-DLULL_BENCH=OFF", "-DLULL_WERROR=OFF"]
    if shutil.which("ccache"):
        command.append("-DCMAKE_CXX_COMPILER_LAUNCHER=ccache")
    with open(COPY / "build" / "configure.log", "wb") as out:
        if subprocess.run(command, cwd=COPY, stdout=out, stderr=out, check=False).returncode != 0:
            raise SystemExit(f"the copy cannot be configured: see {out.name}")


class Tests:
    """The entries of ctest by name, and how long each took without a bug."""

    def __init__(self):
        shown = subprocess.run(["ctest", "--show-only=json-v1"], cwd=BUILD, check=True, capture_output=True).stdout
        # Without programs that are built already, ctest lists no command: the name is that of the program.
        self.commands = {test["name"]: test.get("command") for test in json.loads(shown)["tests"]}
        self.seconds = {}

    def target(self, test):
        name = test.split(":")[0]
        if name not in self.commands:
            raise SystemExit(f"ctest has no test '{name}'")
        command = self.commands[name]
        return pathlib.Path(command[0]).name if command else f"{name}_test"

    def command(self, test):
        name, _, suites = test.partition(":")
        command = self.commands[name] or [str(BUILD / "bin" / f"{name}_test")]
        if suites:
            command = [command[0], f"--test-suite={suites}"]
        return command + ["--abort-after=1"]

    def passes(self, test, log):
        began = time.monotonic()
        known = self.seconds.get(test)
        passed = run(self.command(test), log, 600 if known is None else max(60, 10 * known))
        if known is None:
            self.seconds[test] = time.monotonic() - began
        return passed


def build(tests, names, log):
    targets = sorted({tests.target(name) for name in names})
    return run(["cmake", "--build", str(BUILD), "--target", *targets], log)


def try_mutant(mutant, tests):
    """'noticed by ...', 'not noticed', or 'does not build'."""
    path = COPY / mutant.file
    text = path.read_text()
    log = COPY / "build" / (mutant.name.replace("/", "-") + ".log")
    try:
        path.write_text(mutant.apply(text))
        if not build(tests, mutant.tests, log):
            return f"does not build: see {log}"
        for test in mutant.tests:
            if not tests.passes(test, log):
                return f"noticed by {test}"
        return "not noticed"
    finally:
        path.write_text(text)


def run_without_bugs(mutants, tests):
    names = sorted({test for mutant in mutants for test in mutant.tests})
    log = COPY / "build" / "without.log"
    print(f"building and running without a bug: {' '.join(names)}", flush=True)
    if not build(tests, names, log):
        raise SystemExit(f"the sources do not build: see {log}")
    for name in names:
        if not tests.passes(name, log):
            raise SystemExit(f"{name} fails without a bug: see {log}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("names", nargs="*", metavar="NAME", help="mutants or folders; without any, all")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--check", action="store_true")
    arguments = parser.parse_args()
    mutants = chosen(read_tables(), arguments.names)
    if arguments.list:
        for mutant in mutants:
            print(f"{mutant.name}\t{mutant.file}\t{mutant.bug}\t{' '.join(mutant.tests)}")
        return 0
    stale = [mutant for mutant in mutants if mutant.is_stale()]
    for mutant in stale:
        print(f"stale: {mutant.name}: its old text does not stand exactly once in {mutant.file}")
    if arguments.check:
        print(f"{len(mutants) - len(stale)} of {len(mutants)} mutants apply")
        return 1 if stale or not mutants else 0

    mutants = [mutant for mutant in mutants if mutant not in stale]
    update_copy()
    configure()
    tests = Tests()
    run_without_bugs(mutants, tests)
    found = {}
    for mutant in mutants:
        began = time.monotonic()
        found[mutant] = try_mutant(mutant, tests)
        print(f"{mutant.name}: {found[mutant]} ({time.monotonic() - began:.0f} s)", flush=True)
    noticed = sum(verdict.startswith("noticed") for verdict in found.values())
    print(f"\nnoticed: {noticed} of {len(mutants)}")
    for mutant, verdict in found.items():
        if not verdict.startswith("noticed"):
            print(f"{verdict}: {mutant.name}: {mutant.bug} ({mutant.file})")
    return 0 if noticed >= LEAST_SHARE * len(mutants) and mutants and not stale else 1


def interrupt(*_):
    raise KeyboardInterrupt  # what runs is ended, and what was changed is restored


if __name__ == "__main__":
    signal.signal(signal.SIGTERM, interrupt)
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        sys.exit(130)
