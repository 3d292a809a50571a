#include "support/ffmpeg.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace lull::test {

std::vector<Bytes> decoded_by_ffmpeg(const std::string& path, const std::string& pixel_format,
                                     std::size_t picture_bytes) {
  const TemporaryFolder folder;
  const std::string decoded = folder.file("decoded.raw");
  // Its status is not asked: damaged files end it early, and what it decoded till then counts.
  const Run run = run_program({"ffmpeg", "-v", "quiet", "-nostdin", "-i", "file:" + path, "-vsync",
                               "passthrough", "-f", "rawvideo", "-pix_fmt", pixel_format, decoded});
  CAPTURE(run.errors);
  REQUIRE(run.status != kCannotRun);
  const Bytes all = std::filesystem::exists(decoded) ? read_file(decoded) : Bytes{};
  REQUIRE(all.size() % picture_bytes == 0);
  std::vector<Bytes> pictures;
  for (auto at = all.begin(); at != all.end(); at += static_cast<std::ptrdiff_t>(picture_bytes)) {
    pictures.emplace_back(at, at + static_cast<std::ptrdiff_t>(picture_bytes));
  }
  return pictures;
}

}  // namespace lull::test
