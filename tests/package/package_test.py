#!/usr/bin/python3
"""The Debian package: built by tools/package.sh from a build that is there, unpacked into an empty folder and used.

    package_test.py SOURCE BUILD VERSION
"""
import os
import pathlib
import pty
import re
import select
import subprocess
import sys
import tempfile
import time
import unittest

import numpy
import tifffile
from astropy.io import fits

SOURCE, BUILD, VERSION = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), sys.argv[3]
COMMANDS = ["inspect", "rank", "stack", "finish", "merge", "mosaic", "animate", "master", "metrics", "derotate", "plan"]


def output(*command, **options):
    """What a command prints on standard output; its errors are those of the test."""
    ran = subprocess.run([str(word) for word in command], capture_output=True, text=True, **options)
    if ran.returncode != 0:
        raise AssertionError(f"{command} ended with {ran.returncode}:\n{ran.stdout}{ran.stderr}")
    return ran.stdout


def package_names(depends):
    """The first package of each dependency: "a (>= 1) | b, c" gives a and c."""
    return [re.match(r"[^\s(|:]+", one.strip()).group() for one in depends.split(",") if one.strip()]


def with_all_dependencies(names):
    """The packages and all that they depend on, by dpkg's own records; a virtual one is left out."""
    records = output("dpkg-query", "--show", "--showformat=${Package}\t${db:Status-Status}\t${Pre-Depends}, ${Depends}\n")
    depends = {}
    for line in records.splitlines():
        name, status, needs = line.split("\t")
        if status == "installed":
            depends[name] = package_names(needs)
    found, new = set(), list(names)
    while new:
        name = new.pop()
        if name in depends and name not in found:
            found.add(name)
            new += depends[name]
    return found


def links_to_libraries(folder, packages):
    """A folder with the shared libraries of these packages, and of no other."""
    folder.mkdir()
    for path in output("dpkg-query", "--listfiles", *sorted(packages)).splitlines():
        name = os.path.basename(path)
        if ".so" in name and os.path.isfile(path) and not (folder / name).exists():
            (folder / name).symlink_to(path)


def zsh_completes(functions, typed):
    """What zsh makes of a line when Tab is pressed, in a terminal of its own."""
    child, terminal = pty.fork()
    if child == 0:
        os.execvpe("zsh", ["zsh", "-f", "-i"], {"PATH": os.environ["PATH"], "TERM": "dumb", "PS1": "ready> "})
    seen = b""

    def wait_for(text, seconds=30):
        nonlocal seen
        end = time.monotonic() + seconds
        while text not in seen and time.monotonic() < end:
            if select.select([terminal], [], [], 0.2)[0]:
                try:
                    seen += os.read(terminal, 4096)
                except OSError:  # zsh has ended
                    break
        return text in seen

    setup = f"unsetopt zle_bracketed_paste; fpath=({functions} $fpath); autoload -U compinit; compinit -u -D; echo 'set' 'up'\n"
    wait_for(b"ready> ")
    os.write(terminal, setup.encode())
    assert wait_for(b"set up"), seen
    seen = b""
    # The line is not run: it is printed as the editor holds it.
    os.write(terminal, b"show() { print -r -- \"<$BUFFER>\"; }; zle -N show; bindkey '^X' show; echo 'key' 'set'\n")
    assert wait_for(b"key set"), seen
    seen = b""
    os.write(terminal, typed.encode() + b"\t\x18")
    wait_for(b">\r\n")
    os.close(terminal)
    os.waitpid(child, 0)
    found = re.search(rb"<(.*)>", seen)
    return found.group(1).decode() if found else seen.decode(errors="replace")


class Package(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.temporary = tempfile.TemporaryDirectory()
        folder = pathlib.Path(cls.temporary.name)
        (folder / "made").mkdir()
        printed = output(SOURCE / "tools/package.sh", "--built", BUILD, folder / "made")
        cls.package = pathlib.Path(printed.split()[-1])
        cls.root = folder / "root"
        output("dpkg-deb", "--extract", cls.package, cls.root)
        cls.folder = folder

    @classmethod
    def tearDownClass(cls):
        cls.temporary.cleanup()

    def field(self, name):
        return output("dpkg-deb", "--field", self.package, name).strip()

    def files(self):
        return [path for path in self.root.rglob("*") if path.is_file()]

    def test_version_is_the_same_in_package_program_and_changelog(self):
        self.assertEqual(self.field("Version"), VERSION)
        self.assertEqual(output(self.root / "usr/bin/lull", "--version").strip(), f"Lull {VERSION}")
        changelog = output("zcat", self.root / "usr/share/doc/lull/changelog.gz")
        self.assertTrue(changelog.startswith(f"lull ({VERSION}) "), changelog[:80])
        # dpkg's own reader accepts it.
        (self.folder / "changelog").write_text(changelog)
        self.assertEqual(output("dpkg-parsechangelog", "-l", self.folder / "changelog", "-S", "Version").strip(), VERSION)

    def test_lintian_reports_no_errors_and_no_warnings(self):
        ran = subprocess.run(
            # By a plain user or by root alike. A first package closes no report of an intended package.
            ["lintian", "--allow-root", "--fail-on", "error,warning", "--suppress-tags", "initial-upload-closes-no-bugs",
             str(self.package)], capture_output=True, text=True)
        self.assertEqual((ran.returncode, ran.stdout), (0, ""), ran.stdout + ran.stderr)

    def test_stacks_a_sample_with_the_libraries_of_its_dependencies_alone(self):
        libraries = self.folder / "libraries"
        links_to_libraries(libraries, with_all_dependencies(package_names(self.field("Depends"))))
        program = self.root / "usr/bin/lull"
        loader = re.search(r"interpreter: ([^\]]+)\]", output("readelf", "--program-headers", program)).group(1)
        alone = [loader, "--inhibit-cache", "--library-path", libraries]
        missing = [line for line in output(*alone, "--list", program).splitlines()
                   if "=>" in line and f"=> {libraries}/" not in line and "ld-linux" not in line]
        self.assertEqual(missing, [])

        work = self.folder / "work"
        work.mkdir()
        output(*alone, program, "stack", SOURCE / "samples/highland.mkv", "-o", "moon.tif", cwd=work,
               env={"PATH": "/nowhere", "HOME": str(work)})
        self.assertEqual(sorted(path.name for path in work.iterdir()),
                         ["moon.html", "moon.linear.fits", "moon.recipe.json", "moon.tif"])
        # Against the known truth, without 20 px of edge. Measured: finished 0.992, linear stack 0.928, a frame 0.769.
        made = tifffile.imread(work / "moon.tif")
        self.assertEqual((made.dtype, made.ndim), (numpy.uint16, 2))
        self.assertGreater(correlation(made, fits.getdata(SOURCE / "samples/highland.truth.fits")), 0.96)

    def test_a_file_names_no_path_of_the_machine_that_built_it(self):
        places = {str(SOURCE), str(BUILD), str(self.folder), os.path.expanduser("~") + "/"} - {"/"}
        for path in self.files():
            content = path.read_bytes()
            for place in places:
                self.assertNotIn(place.encode(), content, path)
            self.assertNotIn(b".debug_info", content, path)

    def test_every_command_and_subject_has_a_manual_page_without_warnings(self):
        man = self.root / "usr/share/man"
        for name in ["lull"] + [f"lull-{command}" for command in COMMANDS]:
            self.assertTrue((man / f"man1/{name}.1.gz").is_file(), name)
        pages = [path for path in self.files() if man in path.parents]
        self.assertGreater(len(pages), len(COMMANDS) + 1)
        for page in pages:
            ran = subprocess.run(["man", "--warnings", "-E", "UTF-8", "-l", "-Tutf8", "-Z", str(page)],
                                 capture_output=True, text=True, env={**os.environ, "MANWIDTH": "80"})
            self.assertEqual((ran.returncode, ran.stderr), (0, ""), page)
            # What apropos finds it by.
            self.assertIn(page.name.split(".")[0], output("lexgrog", page))

    def test_manual_pages_never_break_a_word(self):
        pages = sorted((self.root / "usr/share/man").rglob("*.gz"))
        self.assertGreater(len(pages), len(COMMANDS))
        for page in pages:
            source = output("zcat", page).replace("\\-", "-")
            words = set(re.findall(r"--[a-z][a-z-]+|[a-z]+-[a-z-]+", source))
            for width in ["60", "80", "100"]:
                shown = output("man", "-E", "UTF-8", "-l", "-Tutf8", page, env={**os.environ, "MANWIDTH": width})
                shown = re.sub(r".\x08|\x1b\[[0-9;]*m", "", shown)
                if width != "60":  # examples stay as they are
                    self.assertEqual([line for line in shown.splitlines() if len(line) > int(width)], [], page)
                self.assertNotRegex(shown, "\u2010\n", page)  # the hyphen that groff sets between syllables
                for word in words:
                    self.assertEqual(len(re.findall(word, shown)), len(re.findall(word, re.sub(r"\n *", "", shown))),
                                     f"{page}, {width} columns: {word}")

    def test_html_pages_link_to_pages_of_the_package(self):
        folder = self.root / "usr/share/doc/lull/html"
        links = [(path, link) for path in folder.glob("*.html") for link in re.findall(r'(?:href|src)="([^"]+)"', path.read_text())]
        self.assertGreater(len(links), len(COMMANDS))
        self.assertGreaterEqual(len([link for _, link in links if link.startswith("pictures/")]), 4)
        for path, link in links:
            self.assertTrue((folder / link).is_file(), f"{path.name}: {link}")

    def bash_completes(self, *words):
        script = self.root / "usr/share/bash-completion/completions/lull"
        program = 'source "$0"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _lull; printf "%s\\n" "${COMPREPLY[@]}"'
        return output("bash", "-c", program, script, *words, cwd=SOURCE / "samples").split()

    def test_bash_completes(self):
        output("bash", "-n", self.root / "usr/share/bash-completion/completions/lull")
        self.assertEqual(self.bash_completes("lull", "sta"), ["stack"])
        self.assertEqual(self.bash_completes("lull", "stack", "--mem"), ["--memory"])
        self.assertEqual(self.bash_completes("lull", "stack", "--tone", "a"), ["asinh"])
        self.assertEqual(self.bash_completes("lull", "stack", "--tone", "=", "a"), ["asinh"])
        self.assertEqual(self.bash_completes("lull", "stack", "highland.m"), ["highland.mkv"])
        self.assertEqual(self.bash_completes("lull", "stack", "--dark", "granules_d"), ["granules_dark.mkv"])
        self.assertEqual(self.bash_completes("lull", "help", "cap"), ["capture-formats"])

    def test_zsh_completes(self):
        folder = self.root / "usr/share/zsh/vendor-completions"
        output("zsh", "-n", folder / "_lull")
        self.assertEqual(zsh_completes(folder, "lull sta"), "lull stack ")
        self.assertEqual(zsh_completes(folder, "lull stack --mem"), "lull stack --memory=")
        self.assertEqual(zsh_completes(folder, "lull stack --tone as"), "lull stack --tone asinh ")

    def fish_completes(self, line):
        script = self.root / "usr/share/fish/vendor_completions.d/lull.fish"
        printed = output("fish", "--no-config", "-c", f"source {script}; complete --do-complete '{line}'",
                         cwd=SOURCE / "samples", env={**os.environ, "HOME": str(self.folder)})
        return [one.split("\t")[0] for one in printed.splitlines()]

    def test_fish_completes(self):
        output("fish", "--no-execute", self.root / "usr/share/fish/vendor_completions.d/lull.fish",
               env={**os.environ, "HOME": str(self.folder)})
        self.assertEqual(self.fish_completes("lull sta"), ["stack"])
        self.assertEqual(self.fish_completes("lull stack --mem"), ["--memory"])
        self.assertEqual(self.fish_completes("lull stack --tone as"), ["asinh"])
        self.assertIn("highland.mkv", self.fish_completes("lull stack highland.m"))


def correlation(made, truth, edge=20, reach=8):
    """The best correlation of the inner part of two pictures over whole shifts; the first is a crop of the second."""
    height, width = made.shape
    top, left = (truth.shape[0] - height) // 2, (truth.shape[1] - width) // 2
    inner = made[edge:-edge, edge:-edge]
    return max(
        numpy.corrcoef(inner.ravel(), part.ravel())[0, 1]
        for dy in range(-reach, reach + 1) for dx in range(-reach, reach + 1)
        for part in [truth[max(top + dy + edge, 0):, max(left + dx + edge, 0):][:inner.shape[0], :inner.shape[1]]]
        if part.shape == inner.shape)


if __name__ == "__main__":
    unittest.main(argv=sys.argv[:1], verbosity=2)
