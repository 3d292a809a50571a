// Runs a fuzz target over files: every compiler can build it, so that ctest replays the corpus.

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

int replay(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::vector<char> text(std::istreambuf_iterator<char>(file), {});
  const std::vector<std::uint8_t> bytes(text.begin(), text.end());
  return LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
}

}  // namespace

int main(int count, char** arguments) {
  int files = 0;
  for (int i = 1; i < count; ++i) {
    for (const auto& entry : std::filesystem::directory_iterator(arguments[i])) {
      std::printf("%s\n", entry.path().c_str());
      std::fflush(stdout);  // before a crash
      replay(entry.path());
      ++files;
    }
  }
  return files > 0 ? 0 : 1;  // an empty corpus replays nothing
}
