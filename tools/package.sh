#!/usr/bin/env bash
# Builds a Debian package of the program.
#   tools/package.sh                       builds the release first; the package is put into build/package
#   tools/package.sh --built BUILD FOLDER  packages a build that is there, into a folder
set -euo pipefail

if [ "$#" -eq 3 ] && [ "$1" = --built ]; then
  build=$(realpath "$2")
  folder=$(realpath "$3")
  cd "$(dirname "$0")/.."
elif [ "$#" -eq 0 ]; then
  cd "$(dirname "$0")/.."
  tools/setup.sh --package
  cmake --preset release -DLULL_TESTS=OFF -DLULL_BENCH=OFF
  cmake --build --preset release --target lull lull_pages
  build=build/release
  folder=build/package
  rm -rf "$folder"
else
  sed -n '2,4s/^# //p' "$0" >&2
  exit 2
fi

# Whatever the caller's umask, the package's files can be read by everyone.
umask 022
mkdir -p "$folder"
if ! cpack --config "$build/CPackConfig.cmake" -B "$folder" >"$folder/cpack.log" 2>&1; then
  cat "$folder/cpack.log" >&2
  exit 1
fi
rm -r "$folder/_CPack_Packages"
ls "$folder"/lull_*.deb
