#!/usr/bin/env bash
# Installs the Debian packages that building needs, and asks for nothing that is there already.
#   tools/setup.sh             to build and run
#   tools/setup.sh --package   also what tools/package.sh needs
#   tools/setup.sh --tests     also what the tests and benchmarks compare with (implies --package)
#   tools/setup.sh --ci        also compilers and tools of the checks (implies --tests)
set -euo pipefail

packages=(g++ cmake ninja-build pkg-config libavformat-dev libavcodec-dev libavutil-dev
  libswscale-dev libfftw3-dev libtbb-dev libtiff-dev libpng-dev libcfitsio-dev liblcms2-dev libcli11-dev
  nlohmann-json3-dev libfmt-dev libjpeg62-turbo-dev libssl-dev libfreetype-dev libutfcpp-dev
  fonts-dejavu-core libcmark-gfm-dev libcmark-gfm-extensions-dev
  libcpp-httplib-dev libtomlplusplus-dev liberfa-dev libhowardhinnant-date-dev
  libopencv-core-dev libopencv-imgproc-dev libopencv-features2d-dev libopencv-calib3d-dev)
package_packages=(dpkg-dev file)
test_packages=("${package_packages[@]}" lintian man-db zsh fish
  doctest-dev libbenchmark-dev ffmpeg
  pngcheck libtiff-tools fitsverify python3 python3-numpy python3-scipy python3-opencv
  python3-tifffile python3-gdal python3-astropy python3-ephem python3-skimage python3-pil python3-fonttools libxml2-utils git chromium)
# An installed Node.js is kept: Debian's npm conflicts with it.
if ! command -v node >/dev/null; then test_packages+=(nodejs); fi
if ! command -v npm >/dev/null; then test_packages+=(npm); fi
ci_packages=(clang clang-tidy clang-format libclang-rt-14-dev slurm-wlm munge)

with_package=no
with_tests=no
with_ci=no
for argument in "$@"; do
  case "$argument" in
    --package) with_package=yes ;;
    --tests) with_tests=yes ;;
    --ci) with_tests=yes with_ci=yes ;;
    *)
      echo "setup.sh: unknown option '$argument'; there are --package, --tests and --ci" >&2
      exit 2
      ;;
  esac
done
if [ "$with_package" = yes ]; then packages+=("${package_packages[@]}"); fi
if [ "$with_tests" = yes ]; then packages+=("${test_packages[@]}"); fi
if [ "$with_ci" = yes ]; then packages+=("${ci_packages[@]}"); fi

if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
  {
    echo "setup.sh: this system has no apt. Install what these Debian 12 packages hold, then go on:"
    printf '  %s\n' "${packages[@]}"
  } >&2
  exit 1
fi

is_installed() {
  [ "$(dpkg-query --show --showformat='${db:Status-Status}' "$1" 2>/dev/null)" = installed ]
}

missing=()
for package in "${packages[@]}"; do
  is_installed "$package" || missing+=("$package")
done
if [ "${#missing[@]}" -eq 0 ]; then
  echo "setup.sh: all ${#packages[@]} packages are there"
  exit 0
fi

as_root=()
if [ "$(id -u)" -ne 0 ]; then
  if ! command -v sudo >/dev/null; then
    echo "setup.sh: ask someone with root rights to run: apt-get install ${missing[*]}" >&2
    exit 1
  fi
  as_root=(sudo)
fi
echo "setup.sh: installing ${missing[*]}"
"${as_root[@]}" apt-get update -q
"${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
  apt-get install -q -y --no-install-recommends "${missing[@]}"
