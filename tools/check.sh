#!/usr/bin/env bash
# Everything that must hold before a change is merged; continuous integration runs the same.
#   tools/check.sh                      all steps
#   tools/check.sh format clang ...     some of: format build release clang asan inputs integer runs tsan tidy fuzz slurm
set -euo pipefail
cd "$(dirname "$0")/.."

launcher=()
if command -v ccache >/dev/null; then launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi
strict=(-DLULL_WERROR=ON "${launcher[@]}")

sources() { git ls-files '*.cpp'; }

check_format() { git ls-files -z '*.h' '*.cpp' | xargs -0 --no-run-if-empty clang-format --dry-run -Werror; }

check_build() {
  cmake --preset release -DLULL_TESTS=ON -DLULL_BENCH=ON "${strict[@]}"
  cmake --build --preset release
}

check_release() {
  check_build
  cmake --build --preset release --target all_verify_interface_header_sets
  ctest --preset release
}

# A second compiler sees other mistakes; its build is also what clang-tidy reads.
configure_clang() {
  cmake --preset dev -B build/clang -DCMAKE_CXX_COMPILER=clang++ -DLULL_BENCH=ON "${strict[@]}"
}

check_clang() {
  configure_clang
  cmake --build build/clang
}

# Warnings are the business of the plain builds: GCC 12 warns wrongly about array bounds in the
# standard library when it instruments code.
#   sanitize PRESET TEST...
sanitize() {
  local preset=$1
  shift
  local tests=("$@")
  cmake --preset "$preset" "${launcher[@]}"
  cmake --build --preset "$preset" --target "${tests[@]/%/_test}"
  ctest --preset "$preset" --tests-regex "^($(IFS='|' && echo "$*"))(_stack)?\$"  # cli_stack: a part of cli_test
}

# The corpus of readers. That of the desk's requests needs all of src, which takes minutes to build.
#   replay PRESET READER...
replay() {
  local preset=$1
  shift
  local names=("$@")
  cmake --build --preset "$preset" --target "${names[@]/%/_fuzz}"
  ctest --preset "$preset" --tests-regex "^fuzz_replay_($(IFS='|' && echo "$*"))\$"
}

# The lab's statistics and the judge's pictures take minutes there and read nothing from outside: they are left out. Under
# tsan, the hundreds of runs in the command line's tests take hours: check_runs runs every verb there once.
stages=(core files profile spectrum capture calibrate quality survey align stack finish merge mosaic health draw report sky globe run night)
check_asan() {
  sanitize asan "${stages[@]}" desk cli
  replay asan desk_request profile
}
check_tsan() { sanitize tsan "${stages[@]}"; }

# What reads files from outside, alone: as much as continuous integration has time for. The tests
# of these stages run under it in the step asan.
readers=(ser_header fits_source fits_structure picture recipe frame_table)
check_inputs() {
  cmake --preset asan "${launcher[@]}"
  replay asan "${readers[@]}"
}

# By name only: the corpus of what reads files, under Clang's integer sanitizer.
check_integer() {
  cmake --preset integer "${launcher[@]}"
  replay integer "${readers[@]}" desk_request
}

# Whole runs of every verb under sanitizers: leaks and races between stages, which no test of a
# part sees.
run_every_verb() (
  lull=$1
  out=$(mktemp -d)
  trap 'rm -rf "$out"' EXIT
  "$lull" inspect samples/ringed_faint.ser --quiet >/dev/null
  "$lull" rank samples/highland.mkv --frames 0-39 --csv "$out/r.csv" --best-first "$out/b.mkv" --quiet >/dev/null
  "$lull" stack samples/globe_cube.fits -o "$out/a.tif" --share "$out/s.jpg" --report "$out/a.html" --quiet >/dev/null
  "$lull" stack samples/belts_mosaic.nut --frames 0-11 -o "$out/c.png" --quiet >/dev/null
  "$lull" stack --recipe "$out/a.recipe.json" -o "$out/again.tif" --quiet >/dev/null
  "$lull" finish "$out/a.linear.fits" -o "$out/f.png" --tone gamma --quiet >/dev/null
  "$lull" master samples/granules_dark.mkv --kind dark -o "$out/d.fits" --quiet >/dev/null
  "$lull" metrics samples/globe_cube.fits --csv "$out/m.csv" --quiet >/dev/null
  mkdir "$out/in"
  cp samples/granules*.mkv "$out/in"
  "$lull" profile example >"$out/p.toml"
  "$lull" night "$out/in" -o "$out/night" --profile "$out/p.toml" --jobs 2 --quiet >/dev/null
  "$lull" help stack >/dev/null
)

check_runs() {
  local preset
  for preset in asan tsan; do
    cmake --preset "$preset" "${launcher[@]}"
    cmake --build --preset "$preset" --target lull
    ASAN_OPTIONS=detect_leaks=1 TSAN_OPTIONS="halt_on_error=1 suppressions=$PWD/tools/tsan.supp" \
      run_every_verb "build/$preset/bin/lull"
  done
}

check_tidy() {
  configure_clang
  # Only sources that the build compiles, in a stable order, on all processors.
  sources | grep -v '^tests/fuzz/' |
    xargs --max-procs="$(nproc)" --max-args=2 clang-tidy --quiet -p build/clang
}

# Chance decides what is found: not part of what must hold before a merge, hence only by name.
check_fuzz() {
  cmake --preset fuzz "${launcher[@]}"
  cmake --build --preset fuzz
  local found=build/fuzz/found target name
  for target in build/fuzz/bin/*_fuzz; do
    name=$(basename "$target" _fuzz)
    mkdir -p "$found/$name"
    "$target" -max_total_time="${FUZZ_SECONDS:-60}" -timeout=15 -max_len=20000 -verbosity=0 -print_final_stats=1 \
      -artifact_prefix="$found/$name-" "$found/$name" "tests/fuzz/corpus/$name"
  done
}

# Starts munge and Slurm, as root: by name only.
check_slurm() {
  check_build
  tests/slurm/night_slurm.sh build/release/bin
}

steps=("$@")
if [ "${#steps[@]}" -eq 0 ]; then steps=(format release clang asan tsan runs tidy); fi
for step in "${steps[@]}"; do
  if ! declare -F "check_$step" >/dev/null; then
    echo "check.sh: unknown step '$step'; there are format build release clang asan inputs integer runs tsan tidy fuzz slurm" >&2
    exit 2
  fi
done
for step in "${steps[@]}"; do
  started=$SECONDS
  echo "=== $step"
  "check_$step"
  echo "=== $step: passed in $((SECONDS - started)) s"
done
