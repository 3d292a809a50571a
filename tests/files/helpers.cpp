#include "files/helpers.h"

#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <random>
#include <stdexcept>

namespace lull::files::test {

namespace fs = std::filesystem;

TemporaryFolder::TemporaryFolder() {
  std::string name = (fs::temp_directory_path() / "lull-output-XXXXXX").string();
  if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
  path_ = name;
}

TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

std::vector<std::string> TemporaryFolder::names() const {
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(path_)) {
    names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

Ran run(const std::vector<std::string>& arguments) {
  std::vector<std::string> copies = arguments;
  std::vector<char*> pointers;
  pointers.reserve(copies.size() + 1);
  for (std::string& argument : copies) pointers.push_back(argument.data());
  pointers.push_back(nullptr);
  std::array<int, 2> ends = {};
  if (::pipe(ends.data()) != 0) throw std::runtime_error("no pipe");
  const pid_t child = ::fork();
  if (child == 0) {
    ::dup2(ends[1], STDOUT_FILENO);
    ::dup2(ends[1], STDERR_FILENO);
    ::close(ends[0]);
    ::close(ends[1]);
    ::execvp(pointers[0], pointers.data());
    ::_exit(127);
  }
  ::close(ends[1]);
  Ran ran;
  std::array<char, 4096> buffer = {};
  for (ssize_t got = 0; (got = ::read(ends[0], buffer.data(), buffer.size())) > 0;) {
    ran.output.append(buffer.data(), static_cast<std::size_t>(got));
  }
  ::close(ends[0]);
  int state = 0;
  ::waitpid(child, &state, 0);
  if (WIFEXITED(state)) ran.status = WEXITSTATUS(state);
  if (ran.status == 127) ran.output += "cannot run " + copies[0] + "; see tools/setup.sh --tests";
  return ran;
}

Ran run_pictures(std::vector<std::string> arguments) {
  // Debian's interpreter: the packages of tools/setup.sh belong to it.
  arguments.insert(arguments.begin(),
                   {"/usr/bin/python3", LULL_SAMPLES "/../tests/files/pictures.py"});
  return run(arguments);
}

Picture seeded_picture(Size size, int channels, unsigned seed) {
  std::mt19937 generator(seed);
  std::uniform_real_distribution<float> value(-0.02F, 1.02F);
  Picture picture = make_picture(size, channels);
  for (Plane& channel : picture.channels) {
    for (int y = 0; y < size.height_px; ++y) {
      std::generate_n(channel.row(y), size.width_px, [&] { return value(generator); });
    }
  }
  return picture;
}

std::vector<float> samples_of(const Picture& picture) {
  std::vector<float> samples;
  for (int y = 0; y < picture.size().height_px; ++y) {
    for (int x = 0; x < picture.size().width_px; ++x) {
      for (const Plane& channel : picture.channels) samples.push_back(channel.row(y)[x]);
    }
  }
  return samples;
}

std::vector<std::uint16_t> encoded_samples_of(const Picture& picture, const Encoding& encoding) {
  std::vector<std::uint16_t> encoded;
  for (const float sample : samples_of(picture)) {
    const double part =
        (static_cast<double>(sample) - encoding.black) / (encoding.white - encoding.black);
    encoded.push_back(
        static_cast<std::uint16_t>(std::lround(std::clamp(part, 0.0, 1.0) * 65535.0)));
  }
  return encoded;
}

Metadata sample_metadata() {
  Metadata metadata;
  metadata.description = "Crater field at the terminator\nstacked from 300 of 2000 frames";
  metadata.cards = {{"KEPT", std::int64_t{300}, "frames in the stack"},
                    {"NOISE", 0.00125, "standard deviation, full scale = 1"},
                    {"DRIZZLED", false, "resampled to a finer grid"},
                    {"CAPTURE", std::string("highland.mkv"), "source"}};
  metadata.date = std::chrono::sys_days{std::chrono::year{2026} / 3 / 5} + std::chrono::hours{21};
  return metadata;
}

std::string text_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

}  // namespace lull::files::test
